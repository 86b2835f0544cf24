"""The print sheet: each piece that goes to press with its guides, what speaks against it, whose word it has."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

from django.db.models import Count
from django.utils.translation import gettext as _

from reviews.models import Book, LetterAnswer, Note, Passage, Picture, Spread, TakenFault
from reviews.pages.measured_proofs import ProofHead, proof_heads
from reviews.pages.on_page import OnPage, pages_of
from reviews.pages.plates import plate_lines
from reviews.pages.wording import stoppers as stopper_words
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.letter_answers import answer_words, error_counts
from reviews.pages.wording.names import role_words
from reviews.queries.approvals import passages_approved_by_silence
from reviews.queries.final_art import FinalArt, art_for_press, newest_pictures
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import APPROVALS, Answer, NoteState, PassageState, StageKind

#: Lines by spread, each with the passage it is said of; 0 where it is said of what the printer made of the spread.
_Words = dict[int, list[tuple[int, str]]]


@dataclass(frozen=True, kw_only=True)
class SheetPiece:
    """One piece: its picture, None where nothing was handed in; ``said`` is whose word it has, line by line."""

    where: str
    picture: Picture | None
    page: OnPage | None
    said: list[str]


@dataclass(frozen=True, kw_only=True)
class PrintSheet:
    """All of a book, or of one of its spreads. ``proofs`` are the measured proofs that concern it."""

    book: Book
    title: str
    facts: list[str]
    pieces: list[SheetPiece]
    proofs: list[ProofHead]


def sheet_of(book: Book, facts: list[str], spread: Spread | None = None, *, with_letters: bool) -> PrintSheet:
    """Gather the sheet (at most 11 queries); what letters say is left out for whoever does not read them."""
    finals = [one for one in art_for_press(book) if spread is None or one.passage.spread_id == spread.pk]
    shown: dict[int, tuple[Picture, OnPage | None]] = {}
    pairs = _pictures(finals)
    judged = {page.id: page for _passage, page in pages_of(pairs)}
    by_silence = passages_approved_by_silence({one.passage.spread_id for one in finals})
    silent = {passage.pk for passage in by_silence}
    plates = plate_lines(pairs, {one.passage.spread_id: one.approved for one in finals if _is_art(one)})
    for picture, passage in pairs:
        shown.setdefault(passage.pk, (picture, judged.get(picture.pk)))
    spreads = {one.passage.spread_id for one in finals}
    words = _joined(_silent_proofs(by_silence, book), _taken_on(spreads, book))
    if with_letters:
        words = _joined(_words(spreads, book, silent), words)
    title = book.title if spread is None else f"{book.title}, {spread.label}"
    return PrintSheet(
        book=book,
        title=title,
        facts=facts,
        pieces=[
            _piece(
                one,
                shown.get(one.passage.pk),
                words.get(one.passage.spread_id, []),
                plates,
                is_silent=one.passage.pk in silent,
            )
            for one in finals
        ],
        proofs=[one for one in proof_heads(book) if spread is None or one.spread_id in {None, spread.pk}],
    )


def _is_art(one: FinalArt) -> bool:
    return one.passage.stage.kind != StageKind.FINISH


def _pictures(finals: list[FinalArt]) -> list[tuple[Picture, Passage]]:
    """Pair each piece with its approved picture, or with the newest where none stands approved."""
    approved = [(one.approved, one.passage) for one in finals if one.approved is not None]
    return approved + newest_pictures([one for one in finals if one.approved is None])


def _piece(
    one: FinalArt,
    shown: tuple[Picture, OnPage | None] | None,
    words: list[tuple[int, str]],
    plates: dict[int, list[str]],
    *,
    is_silent: bool,
) -> SheetPiece:
    said = [text for passage, text in words if passage in {one.passage.pk, 0}]
    if one.approved is not None:
        on = one.passage.approved_at
        day = day_words(one.passage.book.day_rule.local_date(on)) if on else _("a day that is not known")
        how = (
            _("Deemed approved on {day}, as nobody answered; SHA-256 {sha256}")
            if is_silent
            else _("Approved on {day}, SHA-256 {sha256}")
        )
        said = [how.format(day=day, sha256=one.approved.sha256), *said]
    else:
        said = [_("Not approved: not to be printed."), *said]
    said += plates.get(shown[0].pk, []) if shown else []
    return SheetPiece(
        where=one.passage.where, picture=shown[0] if shown else None, page=shown[1] if shown else None, said=said
    )


def _joined(first: _Words, then: _Words) -> _Words:
    return {spread: first.get(spread, []) + then.get(spread, []) for spread in {*first, *then}}


def _silent_proofs(passages: list[Passage], book: Book) -> _Words:
    """Tell by spread whose proof or F&Gs nobody answered: silence let them go (no query)."""
    found: _Words = {}
    for passage in passages:
        if passage.stage.kind in PRINTERS_STAGES and passage.approved_at is not None:
            day = day_words(book.day_rule.local_date(passage.approved_at))
            told = _("{where}: deemed {answer} on {day}, as nobody answered").format(
                where=passage.where, answer=answer_words(Answer.APPROVE, passage.stage.kind), day=day
            )
            found.setdefault(passage.spread_id, []).append((0, told))
    return found


def _words(spreads: Set[int], book: Book, silent: Set[int]) -> _Words:
    """Tell by spread who approved which passage, and what the printer's work was answered, with its marks (2 queries).

    ``silent`` are the passages that silence approved: no letter's approval is what they stand by.
    """
    found: _Words = {}
    answers = LetterAnswer.objects.select_related("letter__sent_by__person", "passage__spread", "passage__stage")
    rows = answers.filter(passage__spread__in=spreads, letter__sent_at__isnull=False, letter__taken_back_at=None)
    told = list(rows.order_by("letter__sent_at"))
    errors = _errors([row.letter_id for row in told if row.passage.stage.kind in PRINTERS_STAGES])
    last = {row.passage_id: row.pk for row in told}
    for row in told:
        is_printers = row.passage.stage.kind in PRINTERS_STAGES
        if row.answer not in APPROVALS and not is_printers:
            continue
        words = _answer_told(row, book, errors.get((row.letter_id, row.passage_id), {}))
        if (
            words
            and row.answer in APPROVALS
            and not (_stands(row) and last[row.passage_id] == row.pk and row.passage_id not in silent)
        ):
            words = _("{told} (not approved now: waiting, objected to or opened again)").format(told=words)
        if words:
            found.setdefault(row.passage.spread_id, []).append((0 if is_printers else row.passage_id, words))
    return found


def _answer_told(row: LetterAnswer, book: Book, errors: Mapping[str, int]) -> str:
    sender, sent_at = row.letter.sent_by, row.letter.sent_at
    if sender is None or sent_at is None:
        return ""
    told = _("{where}: {answer}, letter {number}, {name} ({role}), {day}").format(
        where=row.passage.where,
        answer=answer_words(row.answer, row.passage.stage.kind),
        number=row.letter.number,
        name=sender.person.name,
        role=role_words(sender.role),
        day=day_words(book.day_rule.local_date(sent_at)),
    )
    return _("{told}; marks: {errors}").format(told=told, errors=error_counts(errors)) if errors else told


def _errors(letters: list[int]) -> dict[tuple[int | None, int], dict[str, int]]:
    """Count the marks on proofs by letter and passage, by whose error each is (1 query, none without a proof)."""
    found: dict[tuple[int | None, int], dict[str, int]] = {}
    if not letters:
        return found
    rows = Note.objects.filter(letter__in=letters, state=NoteState.SENT, passage__stage__kind__in=PRINTERS_STAGES)
    told = rows.exclude(error="").order_by().values_list("letter", "passage", "error").annotate(n=Count("pk"))
    for letter, passage, error, n in told:
        found.setdefault((letter, passage), {})[error] = n
    return found


def _stands(row: LetterAnswer) -> bool:
    """Say whether an approval is what its passage stands approved by: two voices, and nothing opened it since.

    An approval of the same hand-in that was objected to stands no more where a later letter approves it again.
    """
    return row.passage.state == PassageState.APPROVED and row.passage.hand_in_id == row.hand_in_id


def _taken_on(spreads: Set[int], book: Book) -> _Words:
    """Tell by spread who took which fault on (1 query)."""
    found: _Words = {}
    taken_on = TakenFault.objects.select_related("by__person", "passage", "picture")
    for taken in taken_on.filter(passage__spread__in=spreads):
        told = _("A stopper in {file} was taken on by {name}, {day}: “{fault}” Reason: {reason}").format(
            file=taken.picture.file_name,
            fault=stopper_words.fault_taken(taken.code, taken.values),
            name=taken.by.person.name,
            day=day_words(book.day_rule.local_date(taken.at)),
            reason=taken.reason,
        )
        found.setdefault(taken.passage.spread_id, []).append((0, told))
    return found
