"""The letter being written: every spread that waits, its notes in page order, the answer it has so far."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, Q
from django.utils import timezone

from reviews.models import Agreement, Book, Letter, LetterAnswer, Note, OpenedTable, OptionMark, Passage, Picture, Reply
from reviews.pages.nearness import due_words
from reviews.pages.note_crops import Crop, NotePath, crop_of, mark_of
from reviews.queries.last_notes import LastNote, unsent_and_last
from reviews.queries.letters import draft_letter, illustrator_names, placed_notes
from reviews.queries.plain_approvals import looked_at
from reviews.queries.rounds import allowances_for, counted_under
from reviews.queries.silence import silent_days
from reviews.queries.statement import entries_of, facts_in
from reviews.queries.terms import history_told
from reviews.rules.contract.rounds_implied import RoundCount, count_rounds
from reviews.rules.decisions import LookedAt, may_approve_unasked
from reviews.rules.entries import Entry
from reviews.rules.letter_payloads import WeighNoteData
from reviews.rules.letters import clusters, number_notes, seen_mark
from reviews.rules.payloads import payload_of
from reviews.rules.states import Answer, Cause, Deed, HandInState, NoteState, PassageState, Reach, StageKind, Weighing


@dataclass(frozen=True, kw_only=True)
class DraftNote:
    """One unsent note as the art director weighs it; ``number`` is the one it has in the letter now, on every page."""

    row: Note
    number: int | None
    goes: bool
    crop: Crop | None
    is_weighed: bool
    replies: list[Reply] = field(default_factory=list)

    @property
    def is_held(self) -> bool:
        return self.row.weighing == Weighing.HELD


@dataclass(frozen=True)
class NoteGroup:
    """Notes about the same place by different people, or one note by itself."""

    notes: list[DraftNote]

    @property
    def is_clash(self) -> bool:
        return len(self.notes) > 1

    @property
    def is_on_book(self) -> bool:
        """Say whether this is a note on the book; such a one clashes with none."""
        return self.notes[0].row.reach == Reach.BOOK

    @property
    def is_undecided(self) -> bool:
        """Say whether several of these would go without anybody having looked at each of them."""
        going = [note for note in self.notes if not note.is_held]
        return len(going) > 1 and not all(note.is_weighed for note in self.notes)

    @property
    def all_go(self) -> bool:
        return not any(note.is_held for note in self.notes) and not self.is_undecided


@dataclass(frozen=True)
class DraftPicture:
    """One picture of the hand-in with the marks to draw on it and what reviewers said of it."""

    row: Picture
    marks: list[NotePath]
    option_marks: list[OptionMark]
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """One passage in the draft: what was handed in, what is noted, what is answered."""

    passage: Passage
    pictures: list[DraftPicture]
    groups: list[NoteGroup]
    written: LetterAnswer | None
    rounds: RoundCount
    due_tone: str
    due_words: str
    agreement: Agreement | None
    last_notes: list[LastNote]
    looked_at: LookedAt
    silent_on: date | None = None

    @property
    def n_unmet(self) -> int:
        """Count the notes of the last letter that were not answered "done", or were and show no change."""
        return sum(not note.is_met for note in self.last_notes)

    @property
    def own_groups(self) -> list[NoteGroup]:
        """List what is noted on this spread; notes on the book have their own part of the letter."""
        return [group for group in self.groups if not group.is_on_book]

    @property
    def n_on_book(self) -> int:
        return len(self.groups) - len(self.own_groups)

    @property
    def may_be_approved_unasked(self) -> bool:
        return may_approve_unasked(
            self.passage.as_standing(next_is_closed=False), self.looked_at, is_answered=self.written is not None
        )

    @property
    def is_objected(self) -> bool:
        return self.agreement is not None and not self.agreement.agrees

    @property
    def n_brief(self) -> int:
        """Count the notes going with it that say the brief was not met."""
        return sum(note.row.cause == Cause.BRIEF and not note.is_held for group in self.groups for note in group.notes)

    @property
    def shared_rounds(self) -> dict[str, int]:
        """Give the rounds of the pool this passage draws from."""
        count = self.rounds
        return {"used": count.pool_used, "included": count.included, "left": count.left, "over": count.over}

    @property
    def is_approved(self) -> bool:
        return self.passage.state == PassageState.APPROVED

    @property
    def is_late(self) -> bool:
        """Say whether its notes came after its answer: nothing can be answered here before the next hand-in."""
        answerable = (PassageState.ANSWERING, PassageState.APPROVED)
        return self.written is None and not self.is_pending and self.passage.state not in answerable

    @property
    def is_pending(self) -> bool:
        return self.passage.pending_id is not None

    @property
    def is_stale(self) -> bool:
        """The answer was given about a hand-in that is not the newest any more."""
        return self.written is not None and self.written.hand_in_id != self.passage.hand_in_id

    @property
    def n_notes(self) -> int:
        return sum(len(group.notes) for group in self.groups)

    @property
    def n_held(self) -> int:
        return sum(note.is_held for group in self.groups for note in group.notes)

    @property
    def n_going(self) -> int:
        return self.n_notes - self.n_held

    @property
    def n_undecided(self) -> int:
        return sum(group.is_undecided for group in self.groups)

    @property
    def needs_a_look(self) -> bool:
        """Say whether something in here is to be decided, or is asked for: it stands open then."""
        if self.is_stale or self.n_undecided or self.is_objected:
            return True
        if self.written is not None:
            return self.written.answer == Answer.ASK  # its notes are what the letter is about
        if self.is_pending:
            return False
        return bool(self.n_notes or self.n_unmet) or len(self.pictures) > 1


@dataclass(frozen=True)
class DraftPage:
    """Everything the draft page shows."""

    letter: Letter | None
    waiting: list[Waiting]
    late: list[Waiting]
    to_names: str = ""

    @property
    def seen_words(self) -> str:
        """The opening lines on this screen as one mark, also where no letter was begun yet."""
        return self.letter.seen_words if self.letter else seen_mark("")

    @property
    def n_answered(self) -> int:
        return sum(waiting.written is not None for waiting in self.waiting)

    @property
    def on_book(self) -> list[tuple[Waiting, DraftNote]]:
        """List the notes on the book, each with the spread with whose answer it goes."""
        return [(one, group.notes[0]) for one in self.waiting for group in one.groups if group.is_on_book]

    @property
    def notes(self) -> list[DraftNote]:
        return [note for waiting in self.waiting for group in waiting.groups for note in group.notes]

    @property
    def n_going(self) -> int:
        return sum(note.goes for note in self.notes)

    @property
    def n_held(self) -> int:
        return sum(note.is_held for note in self.notes)

    @property
    def n_clashes(self) -> int:
        return sum(waiting.n_undecided for waiting in self.waiting)

    @property
    def plain(self) -> list[Waiting]:
        """List the spreads that "approve all that wait" would approve."""
        return [waiting for waiting in self.waiting if waiting.may_be_approved_unasked]

    @property
    def plain_names(self) -> str:
        return "; ".join(waiting.passage.where for waiting in self.plain)


def draft_page(book: Book) -> DraftPage:
    """Gather the draft letter (11 queries whatever the number of spreads and notes)."""
    letter = draft_letter(book)
    answers = {a.passage_id: a for a in letter.answers.select_related("picture")} if letter else {}
    every = _passages(book, answers)
    passages = [passage for passage in every if passage.stands_in_draft]
    entries = entries_of([book.pk], also=[Deed.WEIGH_NOTE]).get(book.pk, [])
    unsent, last = unsent_and_last(passages)
    notes = _notes_by_passage(unsent, passages, answers, entries)
    pictures, option_marks = _pictures(passages), _option_marks(passages)
    # Stages that share rounds count together, so those that are not in the draft are counted too.
    rounds = _rounds(book, every, entries)
    agreements = _agreements(passages)
    files = {handed: [picture.sha256 for picture in rows] for handed, rows in pictures.items()}
    opened = {passage.hand_in_id for passage in passages if passage.lay_open}
    objected = {handed for handed, said in agreements.items() if not said.agrees}
    seen = looked_at(passages, unsent, last, files=files, objected=objected, opened=opened)
    silent = silent_days(book, entries, every, timezone.now())
    waiting = []
    for passage in passages:
        handed = passage.hand_in_id
        assert handed is not None, "without a hand-in it does not stand in the draft"
        written, own = answers.get(passage.pk), notes.get(passage.pk, [])
        waiting.append(
            Waiting(
                passage=passage,
                pictures=_drawn(pictures.get(handed, []), own, option_marks, written),
                groups=_grouped(own),
                written=written,
                rounds=rounds[passage.pk],
                agreement=agreements.get(handed),
                last_notes=last.get(passage.pk, []),
                looked_at=seen[passage.pk],
                silent_on=silent.get(passage.pk),
                **due_words(passage),
            )
        )
    late = [one for one in waiting if one.is_late]
    answerable = [one for one in waiting if not one.is_late]
    return DraftPage(letter, answerable, late, to_names=" and ".join(illustrator_names(book)))


def _rounds(book: Book, passages: Sequence[Passage], entries: Sequence[Entry]) -> Mapping[int, RoundCount]:
    """Count rounds from the ledger that was read for the notes too (no query)."""
    history = history_told(entries)
    if history is None:
        return count_rounds(entries, allowances_for(passages))
    facts = facts_in(passage.spread for passage in passages)
    return counted_under(history, entries, facts, book.day_rule.local_date(timezone.now()))


def _passages(book: Book, answers: Iterable[int]) -> list[Passage]:
    """Read every passage, and mark those in the draft: what waits, has an answer or unsent notes (1 query)."""
    # What was dismissed while nothing could be answered comes back, as left out, with the next hand-in.
    going = Note.objects.filter(passage__book=book, state=NoteState.UNSENT).exclude(weighing=Weighing.HELD)
    noted = going.values("passage_id")
    shown = Q(state=PassageState.ANSWERING) | Q(pk__in=list(answers)) | Q(pk__in=noted)
    stands = ExpressionWrapper(shown & Q(hand_in__isnull=False), output_field=BooleanField())
    return list(
        Passage.objects.live()
        .with_places()
        .select_related("hand_in", "pending", "approved_picture")
        .filter(book=book)
        .annotate(
            lay_open=Exists(OpenedTable.objects.filter(hand_in=OuterRef("hand_in"))),
            stands_in_draft=stands,
        )  # type: ignore[no-redef]  # it fills what the model only names
        .order_by("spread__position", "stage__position")
    )


def _notes_by_passage(
    rows: Sequence[Note], passages: Sequence[Passage], answers: Iterable[int], entries: Iterable[Entry]
) -> dict[int, list[DraftNote]]:
    """Number the notes let through, in page order, as ``draft_numbers`` does for the table (1 query)."""
    order = [passage.pk for passage in passages]
    places = {placed.note: placed for placed in placed_notes(rows)}
    answered = set(answers)
    numbers = number_notes([places[n.pk] for n in rows if n.weighing == Weighing.THROUGH], order)
    in_order = number_notes(places.values(), order)
    # What the art director has weighed at least once, as the ledger tells.
    weighed = {payload_of(entry, WeighNoteData)["note"] for entry in entries if entry.deed == Deed.WEIGH_NOTE}
    replies = _replies(rows)
    by_passage: dict[int, list[DraftNote]] = {}
    for row in sorted(rows, key=lambda row: in_order[row.pk]):
        number = numbers.get(row.pk)
        drafted = DraftNote(
            row=row,
            number=number,
            goes=number is not None and row.passage_id in answered,
            # What was taken back is not shown; the note on it stays, to be let go or reworded.
            crop=None if row.picture.hand_in.state == HandInState.WITHDRAWN else crop_of(row, str(number or "")),
            is_weighed=row.pk in weighed,
            replies=replies.get(row.pk, []),
        )
        by_passage.setdefault(row.passage_id, []).append(drafted)
    return by_passage


def _replies(notes: Sequence[Note]) -> dict[int, list[Reply]]:
    said: dict[int, list[Reply]] = {}
    rows = Reply.objects.select_related("author__person").filter(note__in=[note.pk for note in notes])
    for reply in rows.order_by("at", "pk"):
        said.setdefault(reply.note_id, []).append(reply)
    return said


def _grouped(notes: Sequence[DraftNote]) -> list[NoteGroup]:
    """Put notes about the same place by different people together, where the first of them stood."""
    by_pk = {note.row.pk: note for note in notes}
    return [NoteGroup([by_pk[pk] for pk in group]) for group in clusters(placed_notes(n.row for n in notes))]


def _pictures(passages: Sequence[Passage]) -> dict[int, list[Picture]]:
    handed = [passage.hand_in_id for passage in passages]
    by_hand_in: dict[int, list[Picture]] = {}
    for picture in Picture.objects.filter(hand_in__in=handed, removed_at=None).order_by("position"):
        by_hand_in.setdefault(picture.hand_in_id, []).append(picture)
    return by_hand_in


def _option_marks(passages: Sequence[Passage]) -> dict[int, list[OptionMark]]:
    ideas = [passage.hand_in_id for passage in passages if passage.stage.kind == StageKind.IDEAS]
    marks: dict[int, list[OptionMark]] = {}
    for mark in OptionMark.objects.select_related("seat__person").filter(picture__hand_in__in=ideas):
        marks.setdefault(mark.picture_id, []).append(mark)
    return marks


def _agreements(passages: Sequence[Passage]) -> dict[int, Agreement]:
    rows = Agreement.objects.select_related("seat__person").filter(
        hand_in__in=[passage.hand_in_id for passage in passages], seat__ended_at=None
    )
    return {row.hand_in_id: row for row in rows.order_by("at")}


def _drawn(
    pictures: Sequence[Picture],
    notes: Sequence[DraftNote],
    option_marks: dict[int, list[OptionMark]],
    written: LetterAnswer | None,
) -> list[DraftPicture]:
    return [
        DraftPicture(
            row=picture,
            marks=[
                mark_of(note.row, picture, str(note.number or ""))
                for note in notes
                if note.row.picture_id == picture.pk and not note.is_held and note.row.reach == Reach.PLACE
            ],
            option_marks=option_marks.get(picture.pk, []),
            is_chosen=written is not None and written.picture_id == picture.pk,
        )
        for picture in pictures
    ]
