"""What to do next on a book of which nothing is handed in yet: a seat's first steps, and the pages as a list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.models import Book, Seat, SpreadText
from reviews.pages.book_map import BookMap, MapSpread
from reviews.press.pages import PieceKind
from reviews.queries.first_steps import SetUpSoFar, set_up_so_far
from reviews.queries.text_blocks import texts_of
from reviews.rules import permits
from reviews.rules.states import Deed, Role

_LONGEST = 90


@dataclass(frozen=True, kw_only=True)
class FirstStep:
    """One step: what it is, how it stands, and the way to it where this seat may take it."""

    title: str
    words: str
    is_done: bool
    url: str = ""
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class BarePiece:
    """A piece of art without a picture: where it stands, and how its text begins."""

    piece: MapSpread
    text: str


@dataclass(frozen=True, kw_only=True)
class FirstSteps:
    """The steps in order, and the pieces in page order."""

    steps: list[FirstStep]
    pieces: list[BarePiece]

    @property
    def next_step(self) -> FirstStep | None:
        """Give the first that is not done and that this seat can take."""
        return next((step for step in self.steps if not step.is_done and step.url), None)


def steps_of(book: Book, seat: Seat, laid: BookMap) -> FirstSteps | None:
    """Gather them (2 queries); None once something is handed in, seen by this seat or not, without a query."""
    if laid.is_begun:
        return None
    pieces = [piece for opening in laid.openings for piece in opening.pieces]
    role, far = Role(seat.role), set_up_so_far(book)
    texts = texts_of(book) if permits.sees(role, "brief") else {}
    # A title that is placed on the cover is no manuscript.
    inside = {one.spread_id for one in pieces if one.kind != PieceKind.COVER}
    placed = {spread: text for spread, text in texts.items() if spread in inside}
    steps = [*_text_step(book, role, placed), _people_step(book, role, far), *_terms_step(book, role, far)]
    steps.append(_hand_in_step(role, far, pieces))
    return FirstSteps(steps=steps, pieces=[_bare(piece, texts) for piece in pieces])


def _text_step(book: Book, role: Role, texts: Mapping[int, SpreadText]) -> Iterable[FirstStep]:
    if not permits.sees(role, "brief"):
        return
    n, may = sum(1 for text in texts.values() if text.blocks), permits.may(role, Deed.SET_TEXT)
    told = ngettext("It is placed on {n} spread.", "It is placed on {n} spreads.", n).format(n=n)
    waits = _("Paste it or bring a file; you break it over the pages.") if may else _("None is placed yet.")
    yield FirstStep(
        title=_("The manuscript"),
        words=told if n else waits,
        is_done=n > 0,
        url=reverse("reviews:manuscript", args=[book.pk]) if may else "",
        label=_("Bring another text") if n else _("Bring the manuscript"),
    )


def _people_step(book: Book, role: Role, far: SetUpSoFar) -> FirstStep:
    """Say whether both sides are here; an invitation is no seat yet."""
    if far.has_illustrator and far.has_art_director:
        words = _("The illustrator and the art director are both here.")
    elif far.has_art_director:
        words = (
            _("The illustrator is invited and has not come yet.")
            if far.illustrator_is_invited
            else _("Nobody is invited to draw it yet.")
        )
    elif far.art_director_is_invited:
        words = _("The art director is invited and has not come yet.")
    else:
        words = _("Nobody is invited to answer for the publisher yet. You can draw and hand in meanwhile.")
    may = permits.may(role, Deed.INVITE)
    return FirstStep(
        title=_("The people"),
        words=words,
        is_done=far.has_illustrator and far.has_art_director,
        url=reverse("reviews:seats", args=[book.pk]) if may else "",
        label=_("Invite people"),
    )


def _terms_step(book: Book, role: Role, far: SetUpSoFar) -> Iterable[FirstStep]:
    if not permits.sees(role, "terms"):
        return
    if far.has_terms:
        words = _("Terms hold. The signed contract decides.")
    elif far.terms_are_proposed:
        words = _("Terms are proposed and not agreed to yet.")
    else:
        words = _("None are entered: days and rounds are those of the stage plan. The signed contract decides.")
    may = permits.may(role, Deed.PROPOSE)
    yield FirstStep(
        title=_("The terms"),
        words=words,
        is_done=far.has_terms,
        url=reverse("reviews:terms", args=[book.pk]) if may else "",
        label=_("Enter the terms"),
    )


def _hand_in_step(role: Role, far: SetUpSoFar, pieces: list[MapSpread]) -> FirstStep:
    """Say what is asked for first, and on whose desk it lies: on nobody's while nobody draws."""
    drawn = [piece for piece in pieces if piece.is_drawing]
    if not drawn:
        return FirstStep(title=_("The first hand-in"), words=_("No stage is open yet."), is_done=False)
    days = [piece.due_on for piece in drawn if piece.due_on]
    day = _(" by {day}").format(day=date_format(min(days), "j F")) if days else ""
    n = ngettext("{n} spread is to be drawn", "{n} spreads are to be drawn", len(drawn)).format(n=len(drawn))
    first = _("{n}, the first{day}.").format(n=n, day=day) if day else f"{n}."
    if role == Role.ILLUSTRATOR:
        where, url = _("It lies on your desk."), reverse("reviews:draft-hand-in", args=[drawn[0].passage])
    else:
        where = _("It lies on the illustrator’s desk.") if far.has_illustrator else _("It lies on nobody’s desk yet.")
        url = ""
    return FirstStep(
        title=_("The first hand-in"),
        words=f"{first} {where}",
        is_done=False,
        url=url,
        label=_("Hand in {spread}").format(spread=drawn[0].label) if url else "",
    )


def _bare(piece: MapSpread, texts: Mapping[int, SpreadText]) -> BarePiece:
    text = texts.get(piece.spread_id)
    words = " ".join(" ".join(one["words"].split()) for one in text.blocks) if text else ""
    return BarePiece(piece=piece, text=words if len(words) <= _LONGEST else words[:_LONGEST].rsplit(" ", 1)[0] + " …")
