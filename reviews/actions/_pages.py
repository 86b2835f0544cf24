"""Write what comes of a change of a book's pages into its spreads and passages, and tell it as the ledger does."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db.models import Case, F, When

from reviews.actions._deed import Act
from reviews.actions._opening import answer_date, open_passage, opened
from reviews.actions._restating import dates_on_return
from reviews.actions.books import fixed_or_planned, laid_out
from reviews.actions.layout import open_first_waiting
from reviews.actions.print_checks import ask_for_inks_again
from reviews.models import LetterAnswer, Note, Passage, Spread, Stage
from reviews.press.pages import Piece
from reviews.queries.page_changes import BookPages
from reviews.rules.contract.page_effects import PageEffects
from reviews.rules.contract.plans import due_dates_backward, due_dates_forward
from reviews.rules.moving_payloads import AddedSpread, BackSpread, DroppedSpread, MovedSpread, RepageData
from reviews.rules.page_changes import PageChange
from reviews.rules.payload_shapes import LaidOut, OpenedPassages
from reviews.rules.states import Gate, NoteState, PassageState, Reach, Refused, Side

# Each position and page may stand only once at any moment: places are emptied first.
_ASIDE = 1000


def apply_change(act: Act, pages: BookPages, change: PageChange, effects: PageEffects, reason: str) -> RepageData:
    """Write a change that was worked out under the same lock, and give what the ledger keeps of it."""
    rows = {row.pk: row for row in (*pages.live, *pages.dropped)}
    labels = {number: row.label for number, row in rows.items()}
    n_pages = [act.book.n_pages, change.n_pages]
    dropped = [_drop(rows[number], act) for number in change.drops]
    _place([rows[number] for number in change.slots], change)
    left = {number: rows[number].dropped_at for number in change.backs}
    back = [_bring_back(rows[number], labels[number]) for number in change.backs]
    added = [_add(piece, position, pages, act) for piece, position in change.adds]
    anew = dates_on_return([(rows[number], left[number]) for number in change.backs], act)
    made, opens, answer_dues = _passages(added, [rows[number] for number in change.backs], act)
    if n_pages[0] != n_pages[1]:
        act.book.n_pages = change.n_pages
        act.book.save(update_fields=["n_pages"])
        act.holds(act.book)
        ask_for_inks_again(act.book)  # the cover is as wide as its spine
    act.holds(*rows.values(), *added)
    laid = _with_opened(laid_out(made), opens)
    moved = [number for number in change.slots if number not in change.backs]
    return RepageData(
        **laid,
        n_pages=n_pages,
        dropped=dropped,
        back=back,
        added=[AddedSpread(spread=row.pk, label=row.label) for row in added],
        placed=[
            MovedSpread(spread=row.pk, was=labels[row.pk], label=row.label, pages=_lies_on(row), position=row.position)
            for row in (rows[number] for number in moved)
            if row.label != labels[row.pk]
        ],
        answer_dues=answer_dues,
        instalments=list(effects.instalments),
        stopped=list(effects.stopped),
        reason=reason,
        **anew,
    )


def _with_opened(laid: LaidOut, opens: OpenedPassages) -> LaidOut:
    """Tell what opened of the rest together with what came into being; work started with the book."""
    laid["opens"] += opens["opens"]
    laid["printers"] += opens["printers"]
    laid["dues"] |= opens["dues"]
    if fixed := [*laid.get("fixed", ()), *opens.get("fixed", ())]:
        laid["fixed"] = fixed
    laid["start_on"] = None
    return laid


def _lies_on(row: Spread) -> list[int | None]:
    return [row.first_page, row.last_page]


def _drop(row: Spread, act: Act) -> DroppedSpread:
    """Take a spread out of the book; what the draft letter answers of it is taken out, its notes stay as they are.

    Notes on the whole book that wait for a letter go on with another spread: they were never about this one alone.
    """
    row.removed_at = row.dropped_at = act.now
    row.save(update_fields=["removed_at", "dropped_at"])
    for answer in LetterAnswer.objects.filter(passage__spread=row, letter__sent_at=None).select_related("letter"):
        act.holds(answer.letter, answer)
        answer.delete()
    passages = list(row.passages.order_by("stage__position").values_list("pk", flat=True))
    act.holds(*row.passages.all(), *_rehome(row))
    return DroppedSpread(spread=row.pk, label=row.label, pages=_lies_on(row), passages=passages)


def _rehome(row: Spread) -> list[Note]:
    """Let the unsent notes on the whole book go with the answer of a spread that is there: one that waits for its own,
    else one of which something was handed in, else the first to be drawn."""
    lying = set(Spread.objects.filter(book=row.book_id, removed_at=None).values_list("pk", flat=True))
    rows = Note.objects.filter(passage__spread=row, state=NoteState.UNSENT, reach=Reach.BOOK)
    notes = [note for note in rows if not note.concerns or lying.intersection(note.concerns)]
    if not notes:
        return []
    there = Passage.objects.live().filter(book=row.book_id).exclude(stage__gate=Gate.HIDDEN)
    ranked = there.order_by(
        Case(When(state=PassageState.ANSWERING, then=0), When(hand_in__isnull=False, then=1), default=2),
        "spread__position",
        "stage__position",
    )
    home = ranked.first()
    if home is None:
        return []
    for note in notes:
        note.passage = home
    Note.objects.bulk_update(notes, ["passage"])
    return notes


def _place(rows: Sequence[Spread], change: PageChange) -> None:
    aside = Spread.objects.filter(pk__in=[row.pk for row in rows], removed_at=None)
    aside.update(
        position=F("position") + _ASIDE, first_page=F("first_page") + _ASIDE, last_page=F("last_page") + _ASIDE
    )
    for row in rows:
        slot = change.slots[row.pk]
        row.position, row.label = slot.position, slot.label
        row.first_page, row.last_page = slot.first_page, slot.last_page
        row.save(update_fields=["position", "label", "first_page", "last_page"])


def _bring_back(row: Spread, was: str) -> BackSpread:
    row.removed_at = row.dropped_at = None
    row.save(update_fields=["removed_at", "dropped_at"])
    passages = list(row.passages.order_by("stage__position").values_list("pk", flat=True))
    return BackSpread(
        spread=row.pk, was=was, label=row.label, pages=_lies_on(row), position=row.position, passages=passages
    )


def _add(piece: Piece, position: int, pages: BookPages, act: Act) -> Spread:
    inside = next((row.plan for row in pages.live if not row.plan.covers), None)
    if inside is None:
        raise Refused("pages-elsewhere")
    return Spread.objects.create(
        book=act.book,
        plan=inside,
        position=position,
        kind=piece.kind,
        label=piece.label,
        first_page=piece.first_page,
        last_page=piece.last_page,
    )


def _passages(
    added: Sequence[Spread], back: Sequence[Spread], act: Act
) -> tuple[list[Passage], OpenedPassages, dict[str, str]]:
    """Make the passages that are missing and give each spread to whoever held it: with days of its own from today.

    Gives what came into being, what opened of the rest, and the answer dates of what lies with the publisher again.
    """
    made: list[Passage] = []
    opens: list[Passage] = []
    dues: dict[str, str] = {}
    for spread in (*added, *back):
        row = []
        there = {one.stage_id: one for one in spread.passages.select_related("book", "stage", "spread", "hand_in")}
        stages = list(spread.plan.stages.order_by("position"))
        for stage, due_on in zip(stages, fixed_or_planned(spread, stages, _dates(stages, act), act), strict=True):
            if stage.pk not in there:
                there[stage.pk] = Passage.objects.create(
                    book=act.book, spread=spread, stage=stage, state=PassageState.CLOSED, planned_on=due_on,
                    due_on=due_on,
                )  # fmt: skip
                made.append(there[stage.pk])
            row.append(there[stage.pk])
        for passage in row:
            passage.book, passage.spread = act.book, spread
            if passage.state == PassageState.DRAWING:
                open_passage(passage, act.now, is_back=True)
                opens.append(passage)
            elif passage.state == PassageState.ANSWERING:
                passage.answer_due_on, passage.held_since = answer_date(passage, act.now), act.now
                passage.save(update_fields=["answer_due_on", "held_since"])
                dues[str(passage.pk)] = passage.answer_due_on.isoformat()
        opens += open_first_waiting(row, act)
    act.holds(*opens, *Passage.objects.filter(pk__in=[int(key) for key in dues]))
    return made, opened([one for one in opens if one not in made]), dues


def _dates(stages: Sequence[Stage], act: Act) -> list[date]:
    """Date the stages of a spread that comes later: as the others are planned, and never before its own days."""
    planned = [stage.as_planned() for stage in stages]
    calendars = [act.book.calendar_of(side, act.today) for side in Side]
    own = due_dates_forward(max(act.today, act.book.start_on), planned, *calendars)
    if act.book.final_on is None:
        return own
    return [max(pair) for pair in zip(own, due_dates_backward(act.book.final_on, planned, *calendars), strict=True)]
