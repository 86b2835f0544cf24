"""What can be delivered to the printer: the approved originals, named by a pattern, and what is not approved yet."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from reviews.models import Book, Passage, Picture
from reviews.pages.on_page import OnPage, pages_of
from reviews.pages.plates import plates_held
from reviews.press.delivery_names import MANIFEST, READ_ME, NamedPart, named
from reviews.queries.final_art import FinalArt, newest_pictures
from reviews.rules.file_names import name_told_apart_on_disk


@dataclass(frozen=True)
class DeliveredFile:
    """One approved original and its name in the folder. ``holds`` are the plates in its spot channels, in words."""

    name: str
    picture: Picture
    where: str
    holds: tuple[str, ...] = ()


@dataclass(frozen=True)
class FinalShown:
    """One piece of final art: where it is looked at, and what speaks against each of its pictures."""

    where: str
    spread_id: int
    url: str
    standing: str
    pictures: list[OnPage]

    @property
    def n_stoppers(self) -> int:
        return sum(picture.n_stoppers for picture in self.pictures)


def files_of(book: Book, finals: list[FinalArt], pattern: str) -> list[DeliveredFile]:
    """Name every approved original; nothing else is in it (at most 1 query, none where no file holds a plate)."""
    holds = plates_held([(one.approved, one.passage) for one in finals if one.approved is not None])
    files: list[DeliveredFile] = []
    taken = {MANIFEST, READ_ME}
    for one in finals:
        if one.approved is None:
            continue
        name = name_told_apart_on_disk(
            named(pattern, _part(book, one.passage, one.approved), _ending(one.approved)), taken
        )
        taken.add(name)
        files.append(DeliveredFile(name, one.approved, one.passage.where, holds.get(one.approved.pk, ())))
    return files


def finals_shown(finals: list[FinalArt]) -> list[FinalShown]:
    """Show each piece that goes to press with what speaks against its newest pictures (at most 2 queries)."""
    by_passage: dict[int, list[OnPage]] = {}
    for passage, page in pages_of(newest_pictures(finals)):
        by_passage.setdefault(passage.pk, []).append(page)
    return [
        FinalShown(
            one.passage.where,
            one.passage.spread_id,
            reverse("reviews:passage", args=[one.passage.pk]),
            "approved" if one.approved else "not approved",
            by_passage.get(one.passage.pk, []),
        )
        for one in finals
    ]


def _part(book: Book, passage: Passage, picture: Picture) -> NamedPart:
    spread = passage.spread
    pages = [page for page in (spread.first_page, spread.last_page) if page is not None]
    numbers = "-".join(f"{page:02d}" for page in dict.fromkeys(pages))
    return NamedPart(
        book=book.title,
        pages=numbers or spread.label,
        stage=passage.stage.kind,
        version=str(picture.hand_in.number or 0),
        name=picture.file_name.rpartition(".")[0] or picture.file_name,
    )


def _ending(picture: Picture) -> str:
    return picture.file_name.rpartition(".")[2] if "." in picture.file_name else "bin"
