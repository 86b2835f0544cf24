"""Letters as they are read: the list of a book's letters, and one letter with its notes and what became of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Count, OuterRef, Q, Subquery

from reviews.models import Book, LedgerEntry, Letter, Note, Passage, Picture, Reply, Seat
from reviews.models.stage_names import speak_of
from reviews.pages.letter_effects import effects_told, passages_around
from reviews.pages.note_crops import Crop, crop_of
from reviews.pages.wording.dates import near_day
from reviews.pages.wording.letter_answers import answer_words, printers_stage
from reviews.pages.wording.letter_effects import EffectLine
from reviews.pages.wording.letters import approval_words, good_news_words
from reviews.pages.wording.notes import note_key
from reviews.queries.book_notes import standings_of
from reviews.queries.letters import illustrator_names
from reviews.queries.line_names import stand_of
from reviews.queries.taking_back import entry_that_sent
from reviews.rules import permits
from reviews.rules.book_notes import SpreadStanding
from reviews.rules.codes import Stand
from reviews.rules.contract.fees_text import maybe
from reviews.rules.contract.letter_cost_text import ToldCost, told_read
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import (
    APPROVALS,
    Answer,
    Cause,
    NoteState,
    PassageState,
    Reach,
    Response,
    Role,
    Sight,
)


@dataclass(frozen=True, kw_only=True)
class LetterNote:
    """One note of a sent letter as everybody who reads the letter sees it.

    ``there`` are the spreads that a note on the book is about, with what holds on each.
    ``refused`` is a response that was chosen and refused for want of words: the form comes back with it.
    """

    row: Note
    crop: Crop | None
    number: int
    replies: list[Reply] = field(default_factory=list)
    refused: str = ""
    there: tuple[SpreadStanding, ...] = ()

    @property
    def is_spread_by_spread(self) -> bool:
        """Say whether any of its spreads has an answer of its own, which the letter then shows of each."""
        return any(one.said is not None and one.said.is_there for one in self.there)

    @property
    def chosen(self) -> str:
        return self.refused or self.row.response

    @property
    def asks(self) -> bool:
        return Cause(self.row.cause).asks

    @property
    def is_the_printers(self) -> bool:
        """Say whether it is on what the printer made, and so goes back there by way of production."""
        return self.row.picture.hand_in.by.role != Role.ILLUSTRATOR

    @property
    def is_on_book(self) -> bool:
        """Say whether it is about the book, or several of its spreads, and stands in the letter's part for those."""
        return self.row.reach == Reach.BOOK

    @property
    def is_answered(self) -> bool:
        """Say whether nothing more is owed to it: praise is owed no answer."""
        return self.row.is_answered or not self.asks


@dataclass(frozen=True, kw_only=True)
class Section:
    """What a letter says to one passage. Figures come from the ledger entry, so they stay as they were sent."""

    passage: int
    where: str
    answer: Answer
    reopened: bool
    waits_for_second: bool
    due_on: date | None
    picture: Picture | None
    option: int | None
    approved_on: date | None
    notes: list[LetterNote]
    is_drawing: bool = False
    #: What the spread is called now, where the order of the pages changed since the letter went.
    now_called: str = ""
    #: The printer's stage that it answers, whose next version production hands in; nothing where it answers art.
    printers_stage: str = ""
    #: What sending it does, or did, to rounds, dates and stages.
    effects: tuple[EffectLine, ...] = ()
    #: What only its sender is told while the letter has not gone (pages.sending.Consequence).
    consequence: object = None

    @property
    def approves(self) -> bool:
        return self.answer in APPROVALS

    @property
    def approved_words(self) -> str:
        """Say which picture is approved, when, and by which fingerprint it is known; nothing where none is."""
        if self.picture is None or not self.approves:
            return ""
        return approval_words(
            self.picture, option=self.option, on=self.approved_on, waits_for_second=self.waits_for_second
        )

    @property
    def answer_words(self) -> str:
        return answer_words(self.answer, self.printers_stage)

    @property
    def is_the_printers(self) -> bool:
        return bool(self.printers_stage)

    @property
    def mark(self) -> str:
        """Name the drawn mark of where the answer left the passage."""
        if self.asks:
            return PassageState.DRAWING
        return "waiting_second" if self.waits_for_second else PassageState.APPROVED

    @property
    def asks(self) -> bool:
        return self.answer == Answer.ASK

    @property
    def own_notes(self) -> list[LetterNote]:
        """List what is said to this spread alone; what is said to the book stands apart."""
        return [note for note in self.notes if not note.is_on_book]

    @property
    def n_answered(self) -> int:
        return sum(note.is_answered for note in self.own_notes)


@dataclass(frozen=True, kw_only=True)
class LetterPage:
    """One sent letter. ``held`` stays empty for whoever may not see what was held back.

    ``stand`` says at which line the ledger stood when it was sent, with the code that vouches for everything up to it;
    there is none before it is sent, when the page shows what would go, nor the ``entry`` that sent it.
    """

    letter: Letter
    number: int
    by: Seat
    on: date
    to_names: str
    sections: list[Section]
    held: list[Note]
    stand: Stand | None
    entry: LedgerEntry | None = None
    #: What it cost, as it was told before it went; an entry of before does not keep that.
    cost: ToldCost | None = None

    @property
    def tells_cost(self) -> bool:
        """Say whether it asks for anything that a round or a fee might count; taken back, it counts none."""
        return self.cost is not None and bool(self.cost.cost.asks) and self.letter.taken_back_at is None

    @property
    def notes(self) -> list[LetterNote]:
        return [note for section in self.sections for note in section.notes]

    @property
    def n_answered(self) -> int:
        return sum(note.is_answered for note in self.notes)

    @property
    def book_notes(self) -> list[LetterNote]:
        """List the notes on the book: each stands once, is answered once, and is shown on every spread it is about."""
        return [note for note in self.notes if note.is_on_book]

    @property
    def flags(self) -> str:
        """Say how the flags on the pictures name these notes."""
        return f"On the pictures, {note_key(1, self.number)}" if self.notes else ""

    @property
    def asks_the_illustrator(self) -> bool:
        """Say whether anything in it is for the illustrator to answer or to draw again."""
        return any(not s.is_the_printers and (s.asks or any(n.asks for n in s.notes)) for s in self.sections)

    @property
    def n_asked(self) -> int:
        return sum(section.asks for section in self.sections)

    @property
    def approved(self) -> list[Section]:
        return [section for section in self.sections if section.approves]

    @property
    def news(self) -> str:
        """Say the good news in a line: what this letter approved; nothing where it approved nothing."""
        if self.letter.taken_back_at is not None:
            return ""
        return good_news_words([section.where for section in self.approved if not section.waits_for_second])


@dataclass(frozen=True, kw_only=True)
class LetterLine:
    """One letter in the list of a book's letters."""

    pk: int
    number: int
    sent_at: datetime
    by: str
    n_approved: int
    n_asked: int
    n_notes: int
    n_answered: int
    is_taken_back: bool = False


#: A letter shows its notes for ever, also once it was taken back.
_SHOWN = (NoteState.SENT, NoteState.TAKEN_BACK)


def letters_of(book: Book) -> list[LetterLine]:
    """List a book's sent letters, newest first (1 query)."""
    asks = Q(answers__answer=Answer.ASK)
    sent = Q(notes__state__in=_SHOWN)
    rows = (
        Letter.objects.filter(book=book, sent_at__isnull=False)
        .select_related("sent_by__person")
        .annotate(
            n_asked=Count("answers", filter=asks, distinct=True),
            n_answers=Count("answers", distinct=True),
            n_notes=Count("notes", filter=sent, distinct=True),
            n_done=Count("notes", filter=sent & Q(notes__responded_at__isnull=False), distinct=True),
        )
        .order_by("-number")
    )
    return [
        LetterLine(
            pk=row.pk, number=row.given_number, sent_at=row.sent_at, by=row.sender.person.name,
            n_approved=row.n_answers - row.n_asked, n_asked=row.n_asked, n_notes=row.n_notes, n_answered=row.n_done,
            is_taken_back=row.taken_back_at is not None,
        )
        for row in rows
        if row.sent_at is not None
    ]  # fmt: skip


def letter_page(
    letter: Letter, role: Role, *, refused: tuple[int, str] | None = None, day: Callable[[date], str] = near_day
) -> LetterPage:
    """Gather a sent letter as one role may read it (7 queries, 2 more with a note on the book).

    ``refused``: a note and the response refused to it. ``day`` writes the dates of what it did: on paper each has its
    year.
    """
    speak_of(letter.book)
    entry = entry_that_sent(letter)
    data = payload_of(entry, SendLetterData)
    answers, cost = data["answers"], maybe(told_read, data.get("cost"))
    rows = _rows(letter)
    by_passage = _notes([row for row in rows if row.state in _SHOWN], letter, role, refused)
    named = [answer["picture"] for answer in answers if answer["picture"]]
    pictures = Picture.objects.filter(pk__in=named).annotate(n_options=_n_options()).in_bulk()
    around = passages_around([answer["passage"] for answer in answers])
    sent_on = letter.book.day_rule.local_date(entry.at)
    sections = [
        _section(
            answer,
            by_passage.get(answer["passage"], []),
            pictures,
            around[answer["passage"]],
            sent_on,
            () if letter.taken_back_at else effects_told(answer, cost, around, day),
        )
        for answer in answers
    ]
    return LetterPage(
        letter=letter, number=letter.given_number, by=letter.sender, on=sent_on,
        to_names=" and ".join(illustrator_names(letter.book, at=letter.sent_at)), sections=sections,
        held=_held(rows, role), stand=stand_of(entry), entry=entry, cost=cost,
    )  # fmt: skip


def _n_options() -> Subquery:
    """Count the pictures handed in together with one: of several, the letter says which option was chosen."""
    rows = Picture.objects.filter(hand_in=OuterRef("hand_in"), removed_at=None).order_by().values("hand_in")
    return Subquery(rows.annotate(n=Count("pk")).values("n"))


def option_of(picture: Picture | None, n_options: int) -> int | None:
    """Name the number by which a picture was talked about; nothing where there was only one."""
    return picture.position if picture is not None and n_options > 1 else None


def _section(
    answer: Mapping[str, Any],
    notes: list[LetterNote],
    pictures: Mapping[int, Any],
    row: Passage,
    sent_on: date,
    effects: tuple[EffectLine, ...],
) -> Section:
    given = Answer(answer["answer"])
    picture = pictures.get(answer["picture"])
    return Section(
        passage=answer["passage"],
        where=answer["where"],
        answer=given,
        reopened=answer["reopened"],
        waits_for_second=answer["waits_for_second"],
        due_on=date.fromisoformat(answer["due_on"]) if given == Answer.ASK else None,
        picture=picture,
        option=option_of(picture, picture.n_options or 1) if picture else None,
        approved_on=None if answer["waits_for_second"] else sent_on,
        notes=notes,
        effects=effects,
        is_drawing=row.state == PassageState.DRAWING,
        now_called="" if answer["where"].startswith(f"{row.spread.label}, ") else row.spread.label,
        printers_stage=printers_stage(answer),
    )


def _rows(letter: Letter) -> list[Note]:
    """Read the notes that went with a letter or were held back from it (1 query)."""
    joined = ("picture__hand_in__by", "author__person", "passage__spread", "passage__stage", "brief")
    rows = Note.objects.select_related(*joined).filter(letter=letter, state__in=(*_SHOWN, NoteState.HELD_BACK))
    return list(rows.order_by("number"))


def _notes(
    rows: list[Note], letter: Letter, role: Role, refused: tuple[int, str] | None
) -> dict[int, list[LetterNote]]:
    replies, there = _replies(rows, role), standings_of(rows, letter.book_id)
    by_passage: dict[int, list[LetterNote]] = {}
    for row in rows:
        chosen = refused[1] if refused and refused[0] == row.pk else ""
        read = LetterNote(
            row=row,
            crop=crop_of(row, str(row.number)),
            number=row.number or 0,
            replies=replies.get(row.pk, []),
            refused=chosen,
            there=tuple(there.get(row.pk, ())),
        )
        by_passage.setdefault(row.passage_id, []).append(read)
    return by_passage


def _replies(notes: Iterable[Note], role: Role) -> dict[int, list[Reply]]:
    """Read what was said under the notes; what was said before the letter stays on the publisher's side."""
    said: dict[int, list[Reply]] = {}
    rows = Reply.objects.select_related("author__person").filter(
        note__in=[note.pk for note in notes], sight__in=permits.sights_of(role)
    )
    for reply in rows.order_by("at", "pk"):
        said.setdefault(reply.note_id, []).append(reply)
    return said


def _held(rows: Iterable[Note], role: Role) -> list[Note]:
    if Sight.PUBLISHER not in permits.sights_of(role):
        return []
    held = (row for row in rows if row.state == NoteState.HELD_BACK)
    return sorted(held, key=lambda row: (row.passage.spread.position, row.pk))


RESPONSES = (
    (Response.DONE, "Done"),
    (Response.NOT_DONE, "Not done, because …"),
    (Response.QUESTION, "I have a question"),
)
