"""The ledger, read: as lines, as a chain, as the state it adds up to."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice

from django.db.models import Q, QuerySet

from reviews.models import Book, LedgerEntry, Passage, Seat
from reviews.queries.line_names import names_of
from reviews.rules import permits
from reviews.rules.chain import Break, Link, breaks
from reviews.rules.codes import code_of
from reviews.rules.entries import Entry
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.replay import Replayed
from reviews.rules.states import Deed, PassageState, Role, Sight


@dataclass(frozen=True, kw_only=True)
class LedgerLine:
    """One line of the ledger that a member may read: ``name`` is what that member's side calls it."""

    entry: Entry
    name: str
    code: str
    sha256: str

    @property
    def seq(self) -> int:
        return self.entry.seq

    @property
    def at(self) -> datetime:
        return self.entry.at

    @property
    def passage(self) -> int | None:
        return self.entry.passage


def read_by(seat: Seat) -> QuerySet[LedgerEntry]:
    """Keep the entries a seat may read: until it ended, and of what one side keeps to itself what was written while
    the person sat. A successor in the illustrator's seat is not told what the former one kept in the studio."""
    rows = LedgerEntry.objects.filter(book_id=seat.book_id, sight__in=permits.sights_of(Role(seat.role))).defer("rows")
    if seat.role == Role.ILLUSTRATOR:
        own = Q(at__gte=seat.since) | Q(seat__person=seat.person_id)
        rows = rows.filter(~Q(sight=Sight.ILLUSTRATOR) | own)
    return rows.filter(at__lte=seat.ended_at) if seat.ended_at else rows


def lines_for(
    seat: Seat,
    *,
    passage: Passage | None = None,
    only: Collection[int] = (),
    before: int | None = None,
    newest: int = 200,
) -> list[LedgerLine]:
    """Tell the newest entries this seat may read, newest first (2 queries).

    ``only`` gives the places of the lines wanted in the chain, ``before`` leaves out entry ``before`` and those after
    it. A letter stands with every passage it answered.
    """
    rows = read_by(seat)
    if only:
        rows = rows.filter(seq__in=only)
    if before is not None:
        rows = rows.filter(seq__lt=before)
    if passage is not None:
        rows = rows.filter(Q(passage=passage) | Q(deed=Deed.SEND_LETTER))
    about = (row for row in rows.order_by("-seq").iterator() if passage is None or _concerns(row, passage))
    names = names_of(seat.book_id, Role(seat.role))
    return [
        LedgerLine(entry=row.as_entry(), name=names[row.seq], code=code_of(row.sha256), sha256=row.sha256)
        for row in islice(about, newest)
    ]


def passages_told_of(seat: Seat) -> list[Passage]:
    """List the passages of which the ledger tells this seat something, in page order (1 query)."""
    told = read_by(seat).filter(passage__isnull=False)
    rows = Passage.objects.live().with_places().filter(pk__in=told.order_by().values("passage"))
    return list(rows.order_by("spread__position", "stage__position"))


def _concerns(row: LedgerEntry, passage: Passage) -> bool:
    if row.passage_id == passage.pk:
        return True
    if row.deed != Deed.SEND_LETTER:
        return False
    return any(answer["passage"] == passage.pk for answer in payload_of(row, SendLetterData)["answers"])


def chain_breaks(book: Book) -> Iterator[Break]:
    """Check a book's hash chain row by row, in the order of their numbers (1 query, streamed)."""
    rows = LedgerEntry.objects.filter(book=book).order_by("seq").iterator(chunk_size=2000)
    links = (
        Link(
            entry=row.as_entry(),
            seat=row.seat_id,
            sight=row.sight,
            previous=row.previous,
            sha256=row.sha256,
            rows=row.rows,
        )
        for row in rows
    )
    return breaks(book.pk, links)


def stored_state(book: Book) -> dict[int, Replayed]:
    """Give the stored passages in the form in which the ledger replays them (1 query)."""
    rows = Passage.objects.live().select_related("hand_in", "pending").filter(book=book)
    return {
        row.pk: Replayed(
            state=PassageState(row.state),
            due_on=row.due_on.isoformat(),
            answer_due_on=row.answer_due_on.isoformat() if row.answer_due_on else None,
            hand_in=row.hand_in.number if row.hand_in else None,
            pending=row.pending.number if row.pending else None,
            approved_sha256=row.approved_sha256,
        )
        for row in rows
    }
