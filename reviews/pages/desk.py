"""The desk: what waits on one person across all their books, and what waits on others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.models import (
    Book,
    Passage,
    Person,
    Proposal,
    Seat,
)
from reviews.models.stage_names import speak_of
from reviews.pages.book_map import ACTIVE, state_of
from reviews.pages.desk_rows import note_counts, passages_of
from reviews.pages.nearness import due_words
from reviews.pages.shelf import OwnBook, shelf_of
from reviews.pages.table_shapes import DueWords
from reviews.pages.wording.waiting import asks_words, detail_words, shared_words
from reviews.press.pages import PieceKind
from reviews.queries.reach import reach_of
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.queries.thumbnails import Newest, newest_pictures
from reviews.queries.votes import may_vote_now
from reviews.rules import permits
from reviews.rules.contract.rounds_implied import RoundCount
from reviews.rules.hands import uses_rounds
from reviews.rules.states import Answer, PassageState, Role, StageKind
from reviews.rules.waiting import Asks, Facts, Waits, waits

_FAR_AWAY = date(9999, 12, 31)


@dataclass(frozen=True, kw_only=True)
class AskedSpread:
    """One spread of one ask."""

    passage: int
    label: str
    picture: Newest | None
    rounds: dict[str, int] | None
    state: str
    state_words: str
    since: datetime | None


@dataclass(frozen=True, kw_only=True)
class Ask:
    """One thing to be done or waited for; spreads of which the same is asked by the same day stand together."""

    book: Book
    words: str
    detail: str
    stage_name: str
    due_on: date | None
    due_tone: str
    due_words: str
    pieces: tuple[AskedSpread, ...]
    #: Why the editor does not agree; such a spread stands by itself, so that nothing hides it.
    objection: str = ""
    is_letter: bool = False
    account_book: int | None = None
    #: A second sign-off on several spreads is given in a row of its own.
    is_sign_off: bool = False
    #: So many of this book wait in that row.
    n_in_row: int = 0

    @property
    def first(self) -> AskedSpread:
        return self.pieces[0]

    @property
    def is_many(self) -> bool:
        return len(self.pieces) > 1

    @property
    def has_pictures(self) -> bool:
        return any(piece.picture for piece in self.pieces)

    @property
    def since(self) -> datetime | None:
        return min((piece.since for piece in self.pieces if piece.since), default=None)


@dataclass(frozen=True, kw_only=True)
class Desk:
    mine: list[Ask]
    others: list[Ask]
    books: list[OwnBook]
    seats: list[Seat]
    rounds: Mapping[int, RoundCount]
    every_seat: list[Seat]

    @property
    def n_mine(self) -> int:
        return sum(1 if ask.is_letter else len(ask.pieces) for ask in self.mine)

    @property
    def only_watches(self) -> bool:
        """Say whether this person is nothing but an agent, who does nothing and looks after everything."""
        return bool(self.seats) and all(seat.role == Role.AGENT for seat in self.seats)

    @property
    def own_parts(self) -> list[str]:
        """Name the parts this person has on any book, each once."""
        return list(dict.fromkeys(seat.role for seat in self.seats))

    @property
    def only_passage(self) -> int | None:
        """Name the one passage of somebody who is nothing but a guest of one cover meeting."""
        return self.seats[0].passage_id if len(self.seats) == 1 else None


@dataclass(frozen=True)
class _Told:
    """A passage with what was found out about it."""

    passage: Passage
    due: DueWords
    waits: Waits | None
    piece: AskedSpread
    facts: Facts


def desk_of(person: Person) -> Desk:
    """Gather a person's desk (8 queries for any number of books, spreads and notes)."""
    rows = Seat.objects.filter(person=person).select_related("book").order_by("book__title", "pk")
    # Mostly nothing is proposed: that is found out without a query of its own.
    every: list[Seat] = list(
        rows.annotate(is_proposed_to=Exists(Proposal.objects.open().filter(book=OuterRef("book"))))
    )
    seats = [seat for seat in every if seat.ended_at is None]
    reach = reach_of(seats)
    by_book = {seat.book_id: seat for seat in seats}
    passages = passages_of(seats)
    counted = rounds_in(by_book, allowances_for(passages))
    pictures = newest_pictures(seats)
    notes = note_counts(seats, passages)
    told = []
    for passage in passages:
        seat = by_book[passage.book_id]
        passage.book = seat.book
        # Most passages of a book are closed or done: nothing waits there, and nothing need be put in words.
        has_open = bool(notes.get(passage.pk, {}).get("n_open")) and seat.role == Role.ILLUSTRATOR
        is_under_way = passage.state in ACTIVE or _is_in_letter(passage) or has_open
        if is_under_way and reach.has(seat, passage):
            told.append(_tell(passage, seat, counted[passage.pk], notes.get(passage.pk, {}), pictures))
    mine = [row for row in told if row.waits and row.waits.on_me]
    others = [row for row in told if row.waits and not row.waits.on_me]
    return Desk(
        mine=_by_day([*_with_row(_together(mine, by_book)), *_letters(told, by_book)]),
        others=_by_day(_together(others, by_book)),
        books=shelf_of(seats, passages, {row.passage.pk for row in told if row.facts.is_late}, pictures),
        seats=seats,
        rounds=counted,
        every_seat=every,
    )


def _tell(
    passage: Passage,
    seat: Seat,
    count: RoundCount,
    notes: Mapping[str, int],
    pictures: Mapping[int, Newest],
) -> _Told:
    due = due_words(passage)
    facts = _facts(passage, due, count, notes)
    state, words = state_of(passage, due)
    counted = {"used": count.pool_used, "included": count.included, "left": count.left, "over": count.over}
    tells_rounds = permits.sees(Role(seat.role), "account") and uses_rounds(passage.stage.kind, count.used)
    piece = AskedSpread(
        passage=passage.pk,
        label=passage.spread.label,
        picture=pictures.get(passage.spread_id),
        rounds=counted if tells_rounds else None,
        state=state,
        state_words=words,
        since=passage.held_since,
    )
    return _Told(passage, due, waits(Role(seat.role), facts), piece, facts)


def _facts(passage: Any, due: DueWords, count: RoundCount, notes: Mapping[str, int]) -> Facts:
    return Facts(
        stage=StageKind(passage.stage.kind),
        state=PassageState(passage.state),
        is_pending=passage.pending_id is not None,
        two_voices=passage.stage.two_voices,
        is_late=due["due_tone"] == "late",
        n_over=count.over,
        has_draft=getattr(passage, "has_draft", False),
        has_voice=getattr(passage, "has_voice", False),
        has_looked=getattr(passage, "has_looked", False),
        has_marked=getattr(passage, "has_marked", False),
        is_marked=getattr(passage, "is_marked", False),
        is_in_letter=_is_in_letter(passage),
        is_objected=getattr(passage, "last_voice", None) is False,
        is_asked=getattr(passage, "is_asked", False),
        is_cover=passage.spread.kind == PieceKind.COVER,
        is_text_changed=getattr(passage, "is_text_changed", False),
        is_voting=may_vote_now(passage, timezone.now()),
        vote_waits=getattr(passage, "vote_waits", False),
        decides_vote=getattr(passage, "decides_vote", False),
        **notes,
    )


def _is_in_letter(passage: Passage) -> bool:
    return getattr(passage, "letter_answer", None) is not None


def _together(rows: Iterable[_Told], by_book: Mapping[int, Seat]) -> list[Ask]:
    """Put spreads of one book together where the same is asked of them by the same day."""
    groups: dict[tuple[Any, ...], list[_Told]] = {}
    for row in rows:
        assert row.waits is not None
        speak_of(row.passage.book)
        key = (
            row.passage.book_id,
            asks_words(row.waits),
            row.passage.stage.kind,
            _day(row.passage),
            row.due["due_words"],
            row.passage.pk if row.facts.is_objected else None,
        )
        groups.setdefault(key, []).append(row)
    return [_ask(group, by_book) for group in groups.values()]


def _with_row(asks: Sequence[Ask]) -> list[Ask]:
    """Tell each second sign-off how many of its book stand in the row, whatever their days."""
    counted = Counter[int]()
    for ask in asks:
        counted[ask.book.pk] += len(ask.pieces) if ask.is_sign_off else 0
    return [replace(ask, n_in_row=counted[ask.book.pk]) if ask.is_sign_off else ask for ask in asks]


def _ask(rows: Sequence[_Told], by_book: Mapping[int, Seat]) -> Ask:
    first = rows[0]
    assert first.waits is not None
    details = [detail_words(row.waits) for row in rows if row.waits]
    seat = by_book[first.passage.book_id]
    speak_of(seat.book)
    return Ask(
        book=seat.book,
        words=asks_words(first.waits),
        detail=shared_words(details),
        stage_name=first.passage.stage.name,
        due_on=_day(first.passage),
        due_tone=first.due["due_tone"],
        due_words=first.due["due_words"],
        pieces=tuple(row.piece for row in rows),
        objection=getattr(first.passage, "last_words", "") if first.facts.is_objected else "",
        is_sign_off=first.waits.on_me and first.waits.asks in (Asks.AGREE, Asks.MARK_AND_AGREE),
        account_book=seat.book_id if seat.role == Role.AGENT and first.waits.on_me else None,
    )


def _letters(told: Sequence[_Told], by_book: Mapping[int, Seat]) -> list[Ask]:
    """List the letters an art director has begun, each with the spreads it answers."""
    by_letter: dict[int, list[_Told]] = {}
    for row in told:
        if row.facts.is_in_letter and by_book[row.passage.book_id].role == Role.ART_DIRECTOR:
            by_letter.setdefault(row.passage.book_id, []).append(row)
    asks = []
    for book_id, rows in by_letter.items():
        soonest = min(rows, key=lambda row: row.passage.answer_due_on or _FAR_AWAY)
        asks.append(
            Ask(
                book=by_book[book_id].book,
                words=_("Send the letter"),
                detail=_letter_detail(rows),
                stage_name="",
                due_on=soonest.passage.answer_due_on,
                due_tone=soonest.due["due_tone"],
                due_words=soonest.due["due_words"],
                pieces=tuple(row.piece for row in rows),
                is_letter=True,
            )
        )
    return asks


def _letter_detail(rows: Sequence[_Told]) -> str:
    """Say how many spreads a letter answers, and on which of them it waits for consent to go beyond the fee."""
    n = len(rows)
    answers = ngettext("It answers {n} spread and is not sent yet", "It answers {n} spreads and is not sent yet", n)
    answers = answers.format(n=n)
    objected = ", ".join(row.piece.label for row in rows if row.facts.is_objected)
    if objected:
        answers = _("{answers}; the editor does not agree to {where}").format(answers=answers, where=objected)
    waiting = [row.passage for row in rows if _asks_for_consent(row.passage)]
    where = ", ".join(passage.spread.label for passage in waiting)
    if not waiting:
        return answers
    told = _("{answers}; on {where} it waits for consent to an extra round")
    return told.format(answers=answers, where=where)


def _asks_for_consent(passage: Any) -> bool:
    return passage.letter_answer == Answer.ASK and passage.waits_for_consent


def _day(passage: Passage) -> date | None:
    return passage.answer_due_on if passage.state == PassageState.ANSWERING else passage.due_on


def _by_day(asks: Iterable[Ask]) -> list[Ask]:
    return sorted(asks, key=lambda ask: (ask.due_on or _FAR_AWAY, ask.book.title, ask.words))
