"""What happened since a page was opened, for the page itself to ask again and again; nothing unread moves it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from reviews.models import LedgerEntry, Looking, Passage, Seat
from reviews.pages.wording import news as wording
from reviews.queries.access import may_see_hand_in
from reviews.queries.news import newest_moment, others_entries, others_letter, told_of
from reviews.rules import permits
from reviews.rules.states import Deed, Role, Sight

#: A deed is written down with the moment at which it began and is read once it is done; a page that was opened between
#: the two would miss it.
_UNDER_WAY = timedelta(seconds=15)
_IN_THE_LETTER = frozenset(
    {Deed.PIN_NOTE, Deed.EDIT_NOTE, Deed.WITHDRAW_NOTE, Deed.RESTORE_NOTE, Deed.REPLY, Deed.WEIGH_NOTE,
     Deed.SET_ANSWER, Deed.DROP_ANSWER, Deed.WORD_LETTER}
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class NewsLine:
    """One thing that happened, with the way to it; ``key`` names it, so that it is told once."""

    key: str
    sentence: str
    url: str
    label: str


@dataclass(frozen=True, kw_only=True)
class News:
    """``mark`` changes with each thing this seat may read; ``is_new`` says that one came since the page was opened."""

    mark: str
    is_new: bool
    lines: Sequence[NewsLine]
    looking: str = ""

    def as_data(self) -> dict[str, Any]:
        return asdict(self)


def table_news_url(passage: Passage, *, newest: int | None, at: datetime) -> str:
    """Name where a table asks for news; ``newest`` is the number of the newest hand-in it has."""
    asked = urlencode({"since": at.isoformat(), "hand_in": newest or 0})
    return f"{reverse('reviews:passage-news', args=[passage.pk])}?{asked}"


def book_news_url(book_id: int, on: str) -> str:
    """Name where a page of a book asks for news since now; ``on`` is its name in the URLconf."""
    asked = urlencode({"since": timezone.now().isoformat(), "on": on})
    return f"{reverse('reviews:book-news', args=[book_id])}?{asked}"


def table_news(passage: Passage, seat: Seat, *, since: datetime, known: int, looking: Collection[Looking]) -> News:
    """Tell the table of a passage what came since (1 query; 1 or 2 more once something did).

    ``known`` is the number of the newest hand-in that the page had; ``looking``: who has the table open.
    """
    newest = newest_moment(seat)
    is_new = newest is not None and newest > since - _UNDER_WAY
    lines = _hand_in_line(passage, seat, known)
    if is_new:
        lines += _letter_line(passage, seat, since)
    return News(
        mark=newest.isoformat() if newest else "",
        is_new=is_new,
        lines=lines,
        looking=wording.looking_words([other.person.name for other in told_of(looking, passage, seat)]),
    )


def _hand_in_line(passage: Passage, seat: Seat, known: int) -> list[NewsLine]:
    newest = passage.hand_in
    if newest is None or newest.number is None or newest.number <= known or newest.handed_in_at is None:
        return []
    newest.passage = passage
    # Sales see no art under way, and nobody but illustrators what is handed in at a stage of the studio.
    if not may_see_hand_in(seat, newest) or newest.by.person_id == seat.person_id:
        return []
    url = reverse("reviews:passage", args=[passage.pk])
    sentence = wording.handed_in_words(newest.handed_in_at)
    return [NewsLine(key=f"hand-in-{newest.pk}", sentence=sentence, url=url, label=_("Show it"))]


def _letter_line(passage: Passage, seat: Seat, since: datetime) -> list[NewsLine]:
    answer = others_letter(passage, seat, since=since - _UNDER_WAY)
    if answer is None or answer.letter.sent_at is None:
        return []
    url = f"{reverse('reviews:letter', args=[answer.letter_id])}#passage-{passage.pk}"
    sentence = wording.answered_words(answer.letter.given_number, answer.letter.sent_at)
    return [NewsLine(key=f"letter-{answer.letter_id}", sentence=sentence, url=url, label=_("Read it"))]


def book_news(seat: Seat, *, since: datetime, on: str) -> News:
    """Tell a page of a book what others did since (1 query, 2 once something happened).

    ``on`` is the page's name in the URLconf: the letter being written says that others wrote in it.
    """
    newest = newest_moment(seat)
    if newest is None or newest <= since - _UNDER_WAY:
        return News(mark=newest.isoformat() if newest else "", is_new=False, lines=[])
    reads_draft = on == "draft-letter" and permits.sees(Role(seat.role), "draft-letter")
    deeds = {Deed.HAND_IN, Deed.SEND_LETTER} | (_IN_THE_LETTER if reads_draft else set())
    entries = others_entries(seat, deeds, since=since)
    lines = [*_handed_in(entries, seat), *_sent(entries, seat), *_written(entries, seat)]
    return News(mark=newest.isoformat(), is_new=bool(entries), lines=lines)


def _handed_in(entries: Sequence[LedgerEntry], seat: Seat) -> list[NewsLine]:
    found = [entry for entry in entries if entry.deed == Deed.HAND_IN and _stands(entry)]
    if not found or found[0].passage is None:
        return []
    last, passage = found[0], found[0].passage
    if len(found) > 1:
        url = reverse("reviews:book-map", args=[seat.book_id])
        sentence = wording.many_handed_in_words(len(found), last.at)
    else:
        passage.book = seat.book
        url = reverse("reviews:passage", args=[passage.pk])
        sentence = wording.handed_in_at_words(passage.where, last.at)
    return [NewsLine(key=f"hand-in-{last.pk}", sentence=sentence, url=url, label=_("Show it"))]


def _stands(handed: LedgerEntry) -> bool:
    """Say whether what was handed in is what lies on its table now: not taken back, nor followed by a newer one."""
    passage = handed.passage
    if passage is None or passage.spread.removed_at is not None:
        return False
    return bool(passage.hand_in_id == handed.data["hand_in"])


def _sent(entries: Sequence[LedgerEntry], seat: Seat) -> list[NewsLine]:
    sent = next((entry for entry in entries if entry.deed == Deed.SEND_LETTER), None)
    if sent is None or not permits.sees(Role(seat.role), "letters"):
        return []
    url = reverse("reviews:letter", args=[sent.data["letter"]])
    sentence = wording.letter_sent_words(sent.data["number"], sent.at)
    return [NewsLine(key=f"letter-{sent.pk}", sentence=sentence, url=url, label=_("Read it"))]


def _written(entries: Sequence[LedgerEntry], seat: Seat) -> list[NewsLine]:
    # What both sides may read, as a reply under a note that was sent, is not in this letter.
    own = (entry for entry in entries if entry.sight == Sight.PUBLISHER)
    written = next((entry for entry in own if Deed(entry.deed) in _IN_THE_LETTER), None)
    if written is None:
        return []
    url = reverse("reviews:draft-letter", args=[seat.book_id])
    sentence = wording.letter_changed_words(written.at)
    return [NewsLine(key=f"written-{written.pk}", sentence=sentence, url=url, label=_("Load it anew"))]
