"""What a letter says of an approval: which picture, when, and by which fingerprint it is known for good."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.models import Passage, Picture
from reviews.pages.wording.dates import day_words
from reviews.rules.states import PassageState, Weighing


def approval_words(picture: Picture, *, option: int | None, on: date | None, waits_for_second: bool) -> str:
    """Name the picture that an approval is about: option, file, day and fingerprint (SHA-256)."""
    named = _("“{file}”").format(file=picture.file_name)
    if option is not None:
        named = _("option {n}, {named}").format(n=option, named=named)
    if waits_for_second:
        said = _("The picture: {named}, approved once the editor agrees as well")
    elif on is None:
        said = _("Approved: {named}")
    else:
        said = _("Approved: {named}, on {day}")
    said = said.format(named=named, day=day_words(on) if on else "")
    return _("{said}. Fingerprint (SHA-256) {sha256}.").format(said=said, sha256=picture.sha256)


def good_news_words(approved: Sequence[str]) -> str:
    """Say what a letter approved, in one line; nothing where it approved nothing."""
    if not approved:
        return ""
    said = ngettext("Good news: {names} is approved.", "Good news: {names} are approved.", len(approved))
    return said.format(names="; ".join(approved))


def weighed_words(passage: Passage, weighing: str) -> str:
    """Confirm what was decided about a note; where its spread cannot be answered now, what comes of that later."""
    held = weighing == Weighing.HELD
    if passage.state in (PassageState.ANSWERING, PassageState.APPROVED):
        return _("The note is left out of the letter.") if held else _("The note is in the letter with these words.")
    if held:
        return _("The note is dismissed. After the next hand-in it is listed as left out, and can still be included.")
    return _("The note is kept for the letter that answers the next hand-in.")
