"""Hold a book's ledger against itself and against the stored rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from reviews.models import Book, HandIn, LedgerEntry, Letter, TermsVersion
from reviews.models.books import as_standing
from reviews.queries.held_check import HeldCheck, check_held
from reviews.queries.kept_files import FileCheck, check_files
from reviews.queries.ledger import chain_breaks, stored_state
from reviews.queries.time_stamps import StampCheck, check_stamps
from reviews.rules.agreement_payloads import ConfirmTermsData
from reviews.rules.contract.day_counts import counted_in
from reviews.rules.contract.pause_words import word_of
from reviews.rules.contract.pauses import in_force
from reviews.rules.entries import Entry
from reviews.rules.faults import LedgerFault
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.payload_shapes import ChangeTermsData, HandInData
from reviews.rules.payloads import payload_of
from reviews.rules.replay import Replayed, folded
from reviews.rules.states import Deed


@dataclass(frozen=True)
class LedgerCheck:
    """What checking one book found, and what it did not look at."""

    faults: list[LedgerFault]
    held: HeldCheck
    files: FileCheck
    stamps: StampCheck

    @property
    def is_whole(self) -> bool:
        """Say whether everything there is to look at was looked at, and agrees."""
        return not self.faults and self.held.holds_all and self.files.is_hashed and not self.stamps.n_untold


def check_ledger(book: Book, *, hashes: bool) -> LedgerCheck:
    """Hold a book's ledger against itself, against every stored row and against the files.

    ``hashes``: read every file's bytes; without it only that each is there and has its size.
    """
    held, files, stamps = check_held(book), check_files(book, hashes=hashes), check_stamps(book)
    return LedgerCheck([*ledger_faults(book, held), *files.faults, *stamps.faults], held, files, stamps)


def ledger_faults(book: Book, held: HeldCheck | None = None) -> Iterator[LedgerFault]:
    """Name every fault: a broken chain, a line that is gone, rows that the ledger did not make.

    The chain shows an edited, removed or reordered line, but not one missing at the very end; what the
    lines add up to, held against the stored rows, shows that as well, but for deeds that left no row. A code that left
    the machine shows any (``queries.codes``).
    """
    broken = list(chain_breaks(book))
    yield from (LedgerFault(f"chain-{fault.why}", seq=fault.seq, about=fault.about) for fault in broken)
    entries = [row.as_entry() for row in LedgerEntry.objects.filter(book=book).order_by("seq")]
    try:
        told = folded(entries)
    except (KeyError, ValueError, TypeError, AttributeError) as problem:
        yield LedgerFault("no-sum", problem=str(problem))
        return
    yield from (held or check_held(book)).faults
    yield from _state_faults(told, stored_state(book))
    yield from _hand_in_faults(book, entries)
    yield from _letter_faults(book, entries)
    yield from _terms_faults(book, entries)


def _state_faults(told: dict[int, Replayed], stored: dict[int, Replayed]) -> Iterator[LedgerFault]:
    for passage in sorted(told.keys() | stored.keys()):
        one, two = told.get(passage), stored.get(passage)
        if one is None or two is None:
            yield LedgerFault("passage-only-stored" if one is None else "passage-only-told", passage=passage)
        elif one != two:
            yield LedgerFault("passage-differs", passage=passage, differences=_differences(one, two))


def _differences(one: Replayed, two: Replayed) -> list[tuple[str, Any, Any]]:
    """List what differs, as stored and as told."""
    names = [name for name in vars(one) if getattr(one, name) != getattr(two, name)]
    return [(name, getattr(two, name), getattr(one, name)) for name in names]


def _hand_in_faults(book: Book, entries: list[Entry]) -> Iterator[LedgerFault]:
    """Hold each numbered hand-in, with its pictures' fingerprints in order, against its entry."""
    handed = [(entry.passage, payload_of(entry, HandInData)) for entry in entries if entry.deed == Deed.HAND_IN]
    told: dict[tuple[int | None, int | None], list[str]] = {
        (passage, data["number"]): [one["sha256"] for one in data["pictures"]] for passage, data in handed
    }
    rows = HandIn.objects.filter(passage__book=book).exclude(number=None).prefetch_related("pictures")
    stored: dict[tuple[int | None, int | None], list[str]] = {
        (row.passage_id, row.number): [
            picture.sha256
            for picture in sorted(row.pictures.all(), key=lambda picture: (picture.position, picture.pk))
            if picture.removed_at is None
        ]
        for row in rows
    }
    for passage, number in sorted(told.keys() | stored.keys()):
        one, two = told.get((passage, number)), stored.get((passage, number))
        if one is None:
            yield LedgerFault("hand-in-untold", number=number, passage=passage)
        elif two is None:
            yield LedgerFault("hand-in-not-stored", number=number, passage=passage)
        elif one != two:
            yield LedgerFault("hand-in-pictures", number=number, passage=passage)


def _letter_faults(book: Book, entries: list[Entry]) -> Iterator[LedgerFault]:
    told = sorted(payload_of(entry, SendLetterData)["number"] for entry in entries if entry.deed == Deed.SEND_LETTER)
    stored = Letter.objects.filter(book=book, sent_at__isnull=False).order_by("number")
    for one, two in zip_longest(told, stored.values_list("number", flat=True)):
        if one != two:
            yield LedgerFault("letter-differs", told=one, stored=two)


def _terms_faults(book: Book, entries: list[Entry]) -> Iterator[LedgerFault]:
    """Hold each version of the terms against the entry that carries the same text under its hash."""
    entered = [payload_of(entry, ChangeTermsData) for entry in entries if entry.deed == Deed.CHANGE_TERMS]
    told = {data["version"]: data["terms"] for data in entered}
    stored = dict(TermsVersion.objects.filter(book=book).values_list("number", "text"))
    for number in sorted(told.keys() | stored.keys()):
        if told.get(number) != stored.get(number):
            yield LedgerFault("terms-differ", number=number)
    said = {
        payload_of(entry, ConfirmTermsData)["version"]: entry.seq
        for entry in entries
        if entry.deed == Deed.CONFIRM_TERMS
    }
    confirmed = TermsVersion.objects.filter(book=book, confirmation__isnull=False)
    kept = dict(confirmed.values_list("number", "confirmation__seq"))
    for number in sorted(said.keys() | kept.keys()):
        if said.get(number) != kept.get(number):
            yield LedgerFault("terms-differ", number=number)
    carried, pauses = Book.objects.values_list("day_counts", "pauses").get(pk=book.pk)
    if pauses != as_standing(in_force(word_of(entry) for entry in entries if entry.deed == Deed.AGREE_PAUSE)):
        yield LedgerFault("pauses-differ")
    if carried != [counted_in(stored[number]) for number in sorted(stored)]:
        yield LedgerFault("calendars-differ")
