"""Find books, passages and seats by the names people type at a prompt."""

from __future__ import annotations

from typing import Any

from reviews.models import Book, Job, Passage, Picture, Seat
from reviews.press.pages import PieceKind
from reviews.rules.hands import PRINTERS_STAGES, hands_in
from reviews.rules.states import STAGE_NAMES, Role, StageKind


class NoSuchThing(Exception):
    """What was named does not exist: ``code`` names the sentence that says so, ``values`` tell what does."""

    def __init__(self, code: str, **values: Any) -> None:
        super().__init__(code)
        self.code = code
        self.values = values


def book_named(words: str) -> Book:
    """Find a book by its number or its title."""
    rows = Book.objects.filter(pk=int(words)) if words.isdecimal() else Book.objects.filter(title__iexact=words)
    found = list(rows[:2])
    if len(found) == 1:
        return found[0]
    books = [(book.pk, book.title) for book in Book.objects.order_by("pk")[:20]]
    raise NoSuchThing("several-books" if found else "no-book", words=words, books=books)


def passage_named(book: Book, spread: str, stage: str) -> Passage:
    """Find a passage by its spread ("cover", "4-5", "12") and stage ("sketch")."""
    kinds = {kind.value.replace("_", " "): kind for kind in StageKind}
    usual = {name.lower(): kind for kind, name in STAGE_NAMES.items()}
    kind = (usual | kinds).get(stage.strip().lower().replace("_", " "))
    if kind is None:
        raise NoSuchThing("no-stage", stage=stage, stages=list(kinds))
    wanted = spread.strip().lower().replace("–", "-")
    rows = list(Passage.objects.live().with_places().filter(book=book).order_by("spread__position"))
    of_spread = [row for row in rows if wanted in _names_of(row)]
    if not of_spread:
        names = list(dict.fromkeys(_names_of(row)[0] for row in rows))
        raise NoSuchThing("no-spread", title=book.title, spread=spread, spreads=names)
    for row in of_spread:
        if row.stage.kind == kind:
            return row
    stages = [row.stage.kind.replace("_", " ") for row in of_spread]
    raise NoSuchThing("no-stage-there", spread=of_spread[0].spread.label, stage=stage, stages=stages)


def maker_of(passage: Passage, email: str = "") -> Seat:
    """Find who hands in at a passage's stage, by address where there are several; needs stage joined.

    The art is the illustrator's. What the printer made is production's, or the art director's where nobody sits there.
    """
    stage = StageKind(passage.stage.kind)
    seats = Seat.objects.select_related("person").filter(book=passage.book_id, ended_at=None)
    found = [seat for seat in seats.order_by("pk") if hands_in(Role(seat.role), stage)]
    if email:
        found = [seat for seat in found if seat.person.email.casefold() == email.casefold()]
    elif any(seat.role == Role.PRODUCTION for seat in found):
        found = [seat for seat in found if seat.role == Role.PRODUCTION]
    if len(found) == 1:
        return found[0]
    whose = "production" if stage in PRINTERS_STAGES else "illustrator"
    raise NoSuchThing(f"several-{whose}" if found else f"no-{whose}")


def reading_jobs(pictures: list[Picture]) -> list[int]:
    """List the jobs that read these pictures."""
    keys = [f"renditions:{picture.pk}" for picture in pictures]
    return list(Job.objects.filter(key__in=keys).order_by("pk").values_list("pk", flat=True))


def refused_of(pictures: list[Picture]) -> list[Picture]:
    """List which of these pictures could not be read."""
    rows = Picture.objects.filter(pk__in=[picture.pk for picture in pictures])
    return list(rows.exclude(reason_code=""))


def _names_of(passage: Passage) -> list[str]:
    spread = passage.spread
    if spread.kind == PieceKind.COVER:
        return ["cover"]
    if spread.first_page is None:
        return [spread.label.lower()]
    pages = str(spread.first_page)
    if spread.last_page != spread.first_page:
        pages += f"-{spread.last_page}"
    return [pages, spread.label.lower().replace("–", "-")]
