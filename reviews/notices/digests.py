"""One mail that tells a person everything that waited for them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.utils.translation import ngettext

from reviews.models import Book, Digest, LedgerEntry, Notice, Seat
from reviews.models.stage_names import speak_of
from reviews.notices.mail import Mail, link, message_id, stop_link, written
from reviews.notices.wording import MONEY_DEEDS, may_be_told
from reviews.notices.words_by_part import told_to
from reviews.pages.beyond_the_fee import asks_beyond_fee, warned_of_fee
from reviews.pages.wording.due_dates import told_words
from reviews.pages.wording.ledger import cover_note_of
from reviews.queries.line_names import stand_of
from reviews.rules.codes import Stand
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.mailing import MailChoice, NoticeKind
from reviews.rules.money_payloads import TakeBackLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, Gate, Role, Sight


@dataclass(frozen=True)
class Item:
    """One sentence and where it leads."""

    words: str
    address: str
    cover_note: str = ""


@dataclass(kw_only=True)
class Group:
    """What is told of one book."""

    book: Book
    schedule: str
    cannot_meet: list[Item] = field(default_factory=list)
    due: list[Item] = field(default_factory=list)
    happened: list[Item] = field(default_factory=list)
    entry: LedgerEntry | None = None

    @property
    def stand(self) -> Stand | None:
        """Say where the ledger stood with the last of what is told here that both sides read (1 query)."""
        return stand_of(self.entry) if self.entry else None


def digest_mail(digest: Digest) -> Mail | None:
    """Write a digest (2 queries, and 1 for each book of which something happened).

    None where nothing is left that the person may read, or they stopped all mail. Needs ``person`` joined.
    """
    person = digest.person
    if person.mail == MailChoice.NONE:
        return None
    groups = _groups(digest)
    if not groups:
        return None
    stop = stop_link(person)
    context = {"name": person.name, "groups": groups, "subject": _subject(groups), "stop": stop}
    text, html = written("digest", context)
    return Mail(
        to=person.email,
        subject=_subject(groups),
        text=text,
        html=html,
        message_id=message_id(f"digest-{digest.pk}"),
        stop=stop,
    )


def _groups(digest: Digest) -> list[Group]:
    seats = {seat.book_id: seat for seat in Seat.objects.filter(person_id=digest.person_id, ended_at=None)}
    groups: dict[int, Group] = {}
    for notice in _notices(digest):
        book = notice.about
        speak_of(book)
        if (seat := seats.get(book.pk)) is None or not _may_read(seat, notice):
            continue
        group = groups.setdefault(book.pk, Group(book=book, schedule=link("schedule", book.pk)))
        lines = {NoticeKind.DUE: group.due, NoticeKind.CANNOT_MEET: group.cannot_meet}
        lines.get(NoticeKind(notice.kind), group.happened).append(_item(notice, seat))
        entry = notice.entry
        if entry and entry.sight == Sight.ALL and (group.entry is None or group.entry.seq < entry.seq):
            group.entry = entry
    return list(groups.values())


def _notices(digest: Digest) -> Iterable[Notice]:
    return digest.notices.select_related("entry__book", "book", "passage__stage").order_by("pk")


def _may_read(seat: Seat, notice: Notice) -> bool:
    role = Role(seat.role)
    if notice.entry is not None:
        return may_be_told(notice.entry, seat)
    hidden = notice.passage is not None and notice.passage.stage.gate == Gate.HIDDEN
    return role == Role.ILLUSTRATOR if hidden else role != Role.GUEST


def _item(notice: Notice, seat: Seat) -> Item:
    entry = notice.entry
    if entry is None:
        passage = notice.passage_id
        return Item(told_words(notice.told), link("passage", passage) if passage else link("schedule", notice.about.pk))
    words = f"{told_to(entry.as_entry(), Role(seat.role))} {_of_the_fee(entry, Role(seat.role))}".strip()
    if entry.deed == Deed.SEND_LETTER:
        return Item(words, link("letter", payload_of(entry, SendLetterData)["letter"]))
    if entry.deed == Deed.TAKE_BACK_LETTER:
        return Item(words, link("letter", payload_of(entry, TakeBackLetterData)["letter"]))
    if entry.deed == Deed.ASK_TO_READ:
        return Item(words, link("desk"))
    if entry.deed in MONEY_DEEDS:
        return Item(words, link("statement", entry.book_id))
    address = link("passage", entry.passage_id) if entry.passage_id else link("book-map", entry.book_id)
    return Item(words, address, cover_note_of(entry))


def _of_the_fee(entry: LedgerEntry, role: Role) -> str:
    """Tell who watches the rounds what goes beyond them: the art director before a letter, the agent after it."""
    if role == Role.ART_DIRECTOR:
        return warned_of_fee(entry)
    if role == Role.AGENT and entry.deed == Deed.SEND_LETTER and (beyond := asks_beyond_fee(entry)):
        return f"It asks for extra rounds ({'; '.join(beyond)})."
    return ""


def _subject(groups: list[Group]) -> str:
    """Say in a few words what is inside, the worst first."""
    n_out = sum(len(group.cannot_meet) for group in groups)
    n_due = sum(len(group.due) for group in groups)
    n_news = sum(len(group.happened) for group in groups)
    counts = (
        (n_out, ngettext("{n} deadline that cannot be met", "{n} deadlines that cannot be met", n_out)),
        (n_due, ngettext("{n} due date", "{n} due dates", n_due)),
        (n_news, ngettext("{n} update", "{n} updates", n_news)),
    )
    told = ", ".join(words.format(n=n) for n, words in counts if n)
    n = len(groups)
    where = groups[0].book.title if n == 1 else ngettext("{n} book", "{n} books", n).format(n=n)
    return f"{told} · {where}"
