"""Find books, passages and seats by the names people type at a prompt."""

from __future__ import annotations

from reviews.models import Book, Job, Passage, Picture, Seat
from reviews.press.pages import PieceKind
from reviews.rules.states import Role, StageKind


class NoSuchThing(Exception):
    """What was named does not exist; the message is a sentence with what does."""


def book_named(words: str) -> Book:
    """Find a book by its number or its title."""
    rows = Book.objects.filter(pk=int(words)) if words.isdecimal() else Book.objects.filter(title__iexact=words)
    found = list(rows[:2])
    if len(found) == 1:
        return found[0]
    titles = ", ".join(f"{book.pk} “{book.title}”" for book in Book.objects.order_by("pk")[:20]) or "none yet"
    trouble = "Several books have that title; name one by its number" if found else f"There is no book “{words}”"
    raise NoSuchThing(f"{trouble}. Books here: {titles}.")


def passage_named(book: Book, spread: str, stage: str) -> Passage:
    """Find a passage by its spread ("cover", "4-5", "12") and stage ("sketch")."""
    kinds = {kind.value.replace("_", " "): kind for kind in StageKind}
    kind = kinds.get(stage.strip().lower().replace("_", " "))
    if kind is None:
        raise NoSuchThing(f"There is no stage “{stage}”. Stages: {', '.join(kinds)}.")
    wanted = spread.strip().lower().replace("–", "-")
    rows = list(Passage.objects.live().with_places().filter(book=book).order_by("spread__position"))
    of_spread = [row for row in rows if wanted in _names_of(row)]
    if not of_spread:
        names = dict.fromkeys(_names_of(row)[0] for row in rows)
        raise NoSuchThing(f"“{book.title}” has no spread “{spread}”. Spreads: {', '.join(names)}.")
    for row in of_spread:
        if row.stage.kind == kind:
            return row
    stages = ", ".join(row.stage.kind.replace("_", " ") for row in of_spread)
    raise NoSuchThing(f"{of_spread[0].spread.label} has no stage “{stage}”. Its stages: {stages}.")


def illustrator_of(book: Book, email: str = "") -> Seat:
    """Find the illustrator's seat, by address where there are several."""
    seats = Seat.objects.select_related("person").filter(book=book, role=Role.ILLUSTRATOR, ended_at=None)
    found = list(seats.filter(person__email__iexact=email) if email else seats)
    if len(found) == 1:
        return found[0]
    if not found:
        raise NoSuchThing("No illustrator with that address has a seat on this book. Invite one first.")
    raise NoSuchThing("Several illustrators have a seat on this book. Name one with --as ADDRESS.")


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
