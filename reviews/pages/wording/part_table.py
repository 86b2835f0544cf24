"""What each part may see and do, in words: the table on the seats page, and a part's own lines before it is taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.pages.wording.names import ROLE_WORDS
from reviews.rules.part_table import SEEN, Extent, Thing, extent, whole_table
from reviews.rules.states import Role

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise as Promise

THING_WORDS: dict[Thing, Promise] = {
    Thing.MAP: gettext_lazy("the book map"),
    Thing.ART: gettext_lazy("the art that is handed in"),
    Thing.ORIGINALS: gettext_lazy("files as they were handed in"),
    Thing.BRIEF: gettext_lazy("the brief and the text"),
    Thing.HOUSE_NOTES: gettext_lazy("notes not sent yet"),
    Thing.SENT_NOTES: gettext_lazy("notes of letters"),
    Thing.LETTERS: gettext_lazy("letters"),
    Thing.CHANGES: gettext_lazy("what changed between versions"),
    Thing.GEOMETRY: gettext_lazy("print geometry and templates"),
    Thing.DATES: gettext_lazy("the schedule"),
    Thing.MONEY: gettext_lazy("rounds, terms and money"),
    Thing.MARK_NOTES: gettext_lazy("mark notes for the art director"),
    Thing.MARK_OPTIONS: gettext_lazy("say which option they would choose"),
    Thing.HAND_IN: gettext_lazy("hand in"),
    Thing.SIGN_OFF: gettext_lazy("give the second sign-off"),
    Thing.DECIDE: gettext_lazy("approve, ask for changes, send the letter"),
    Thing.WRITE_BRIEF: gettext_lazy("write the brief"),
    Thing.PLACE_TEXT: gettext_lazy("place the text on the spreads"),
    Thing.ASK: gettext_lazy("ask an author or expert reader"),
    Thing.INVITE: gettext_lazy("invite people of their side"),
}

EXTENT_WORDS: dict[Extent, Promise] = {
    Extent.NONE: gettext_lazy("no"),
    Extent.FULL: gettext_lazy("yes"),
    Extent.OWN: gettext_lazy("their own"),
    Extent.ASKED: gettext_lazy("where asked"),
    Extent.COVER_AND_APPROVED: gettext_lazy("cover, approved art"),
    Extent.COVER: gettext_lazy("cover"),
    Extent.ONE: gettext_lazy("one spread"),
    Extent.PROOFS: gettext_lazy("proofs, F&Gs"),
}

# What a cell adds to a line about one part.
_WITHIN: dict[Extent, Promise] = {
    Extent.OWN: gettext_lazy("{thing} (your own only)"),
    Extent.ASKED: gettext_lazy("{thing} (of the spreads you are asked about)"),
    Extent.COVER_AND_APPROVED: gettext_lazy("{thing} (the cover, and elsewhere what is approved)"),
    Extent.COVER: gettext_lazy("{thing} (on the cover)"),
    Extent.ONE: gettext_lazy("{thing} (of one spread)"),
    Extent.PROOFS: gettext_lazy("{thing} (proofs and F&Gs from the printer)"),
}


def part_rows() -> list[dict]:
    """Give the table row by row: what it is, and for each part a code and its words."""
    return [
        {
            "words": capfirst(str(THING_WORDS[row.thing])),
            "is_seen": row.thing in SEEN,
            "cells": [
                (cell.value, str(EXTENT_WORDS[cell]), capfirst(str(ROLE_WORDS[r]))) for r, cell in row.cells.items()
            ],
        }
        for row in whole_table()
    ]


def part_heads() -> list[str]:
    """Name the parts in the order of the table's columns."""
    return [capfirst(str(words)) for words in ROLE_WORDS.values()]


def part_lines(role: str) -> list[tuple[str, str]]:
    """Say of one part what it sees, what it may do and what it does not see, as heading and list in words."""
    sees: list[str] = []
    does: list[str] = []
    not_seen: list[str] = []
    for thing in Thing:
        cell = extent(Role(role), thing)
        words = str(THING_WORDS[thing])
        within = str(_WITHIN[cell]).format(thing=words) if cell in _WITHIN else words
        if cell != Extent.NONE:
            (sees if thing in SEEN else does).append(within)
        elif thing in SEEN:
            not_seen.append(words)
    told = ((_("You see"), sees), (_("You may"), does), (_("You do not see"), not_seen))
    return [(head, "; ".join(words)) for head, words in told if words]
