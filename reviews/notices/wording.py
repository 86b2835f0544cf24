"""What each mail says, made from one ledger entry for one person."""

from __future__ import annotations

from collections.abc import Callable

from reviews.models import LedgerEntry, Letter, Notice, Seat
from reviews.models.stage_names import speak_of
from reviews.notices.mail import Mail, link, message_id, stop_link, written
from reviews.notices.marked_places import approved_pictures, places_marked
from reviews.notices.words_by_part import told_to
from reviews.pages.beyond_the_fee import asks_beyond_fee, warned_of_fee
from reviews.pages.letter_pages import LetterPage, letter_page
from reviews.pages.wording.agreements import head_words
from reviews.pages.wording.ledger import cover_note_of, sentence
from reviews.pages.wording.letter_cost import cost_lines, counted_words
from reviews.pages.wording.term_sets import CAUTION as TERMS_CAUTION
from reviews.queries.line_names import stand_of
from reviews.queries.proposals import is_asked_by
from reviews.rules import permits
from reviews.rules.agreement_payloads import Matters
from reviews.rules.brief_payloads import ChangeBriefData, SetTextData
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.mailing import MailChoice
from reviews.rules.money_payloads import TakeBackLetterData
from reviews.rules.payload_shapes import Where
from reviews.rules.payloads import payload_of
from reviews.rules.portal_payloads import GiveToPrinterData
from reviews.rules.seat_payloads import AskToReadData
from reviews.rules.states import Deed, Role, Sight
from reviews.rules.vote_payloads import OpenVoteData

Subject = Callable[[LedgerEntry], str]


def _where(words: str) -> Subject:
    return lambda entry: f"{words}: {payload_of(entry, Where)['where']}"


def _given_to_printer(entry: LedgerEntry) -> str:
    words = _where("With the printer from now on")(entry)
    n_more = len(payload_of(entry, GiveToPrinterData).get("with_it", []))
    return words + (f" and {n_more} more" if n_more else "")


def _whose(entry: LedgerEntry) -> str:
    return str(entry.data.get("spread") or "the whole book")


def _brief(entry: LedgerEntry) -> str:
    words = "The brief changed" if payload_of(entry, ChangeBriefData)["version"] > 1 else "A brief"
    return f"{words}: {_whose(entry)}"


def _text(entry: LedgerEntry) -> str:
    data = payload_of(entry, SetTextData)
    words = "Text change" if data["told_as"] or data.get("changes_with_it") else "The text was placed"
    n_more = len(data.get("with_it", []))
    return f"{words}: {_whose(entry)}" + (f" and {n_more} more" if n_more else "")


def _invoice(said: str) -> Subject:
    return lambda entry: said.format(number=entry.data["number"])


def _proposal(words: str, entry: LedgerEntry) -> str:
    data = payload_of(entry, Matters)
    return f"{words}: {data['where'] if 'where' in data else head_words(data['matter']).lower()}"


# What stands in the subject, before the book's title; a test holds it against who is told of what.
SUBJECTS: dict[str, Subject] = {
    Deed.CHANGE_BOOK: lambda entry: "Title, page size or last day changed",
    Deed.MOVE_SPREADS: lambda entry: "The order of the pages changed",
    Deed.REPAGE: lambda entry: "Spreads were dropped or added",
    Deed.CHANGE_PLAN: lambda entry: "The stage plan changed",
    Deed.NAME_STAGES: lambda entry: "Stages have new names",
    Deed.SET_PRINT: lambda entry: "The print set-up changed",
    Deed.JUDGE_PROOF: lambda entry: "A proof was measured",
    Deed.TAKE_ON_FAULT: _where("A stopper is taken on"),
    Deed.CHANGE_BRIEF: _brief,
    Deed.SET_TEXT: _text,
    Deed.ADD_REFERENCES: lambda entry: f"References for the brief of {_whose(entry)}",
    Deed.REMOVE_REFERENCE: lambda entry: f"A reference taken away: {_whose(entry)}",
    Deed.TAKE_SEAT: lambda entry: f"{entry.by} has joined",
    Deed.MOVE_DUE_DATE: _where("A date moved"),
    Deed.ASK_TO_READ: lambda entry: f"You are asked about {', '.join(payload_of(entry, AskToReadData)['labels'])}",
    Deed.LET_AGENT_ANSWER: lambda entry: "Who answers for the illustrator",
    Deed.AGREE_PAUSE: lambda entry: "A pause is agreed" if entry.data["last"] else "A pause is called off",
    Deed.PROPOSE: lambda entry: _proposal("Proposed", entry),
    Deed.DECLINE_PROPOSAL: lambda entry: _proposal("Declined", entry),
    Deed.WITHDRAW_PROPOSAL: lambda entry: _proposal("Withdrawn", entry),
    Deed.HAND_IN: _where("Handed in"),
    Deed.WITHDRAW_HAND_IN: _where("Withdrawn"),
    Deed.SEND_LETTER: lambda entry: f"Letter {payload_of(entry, SendLetterData)['number']}",
    Deed.AGREE: _where("The editor agrees"),
    Deed.OBJECT: _where("The editor does not agree"),
    Deed.CHANGE_TERMS: lambda entry: "The terms changed",
    Deed.CONFIRM_TERMS: lambda entry: "The terms are confirmed",
    Deed.ASK_CONSENT: _where("Your consent is asked"),
    Deed.GIVE_CONSENT: _where("Consent given"),
    Deed.DECLINE_CONSENT: _where("Consent declined"),
    Deed.WITHDRAW_CONSENT: _where("Consent withdrawn"),
    Deed.TAKE_BACK_LETTER: lambda entry: f"Letter {payload_of(entry, TakeBackLetterData)['number']} is taken back",
    Deed.INVOICE: _invoice("Invoice {number}"),
    Deed.WITHDRAW_INVOICE: _invoice("Invoice {number} is taken back"),
    Deed.SAY_PAID: _invoice("A payment of invoice {number}, the publisher says"),
    Deed.CONFIRM_PAYMENT: _invoice("Money of invoice {number} came"),
    Deed.WITHDRAW_PAYMENT: _invoice("A payment of invoice {number} is taken back"),
    Deed.TELL_HOURS: _where("Hours to agree to"),
    Deed.AGREE_HOURS: _where("Hours agreed to"),
    Deed.ANNOUNCE_SILENCE: _where("No reply will count as approval"),
    Deed.APPROVE_BY_SILENCE: _where("Deemed approved (no reply)"),
    Deed.GIVE_TO_PRINTER: _given_to_printer,
    Deed.OPEN_VOTE: _where("Your vote is asked"),
    Deed.CLOSE_VOTE: _where("The vote is closed"),
    Deed.DECIDE_VOTE: _where("Decided after the vote"),
}


#: What is read and done on the statement.
MONEY_DEEDS = (
    Deed.INVOICE, Deed.WITHDRAW_INVOICE, Deed.SAY_PAID, Deed.CONFIRM_PAYMENT, Deed.WITHDRAW_PAYMENT,
    Deed.TELL_HOURS, Deed.AGREE_HOURS,
)  # fmt: skip

# What carries a date, a fee or a round, and so the caution.
_FIGURES = (
    Deed.PROPOSE, Deed.DECLINE_PROPOSAL, Deed.WITHDRAW_PROPOSAL,
    Deed.SET_PRINT, Deed.JUDGE_PROOF, Deed.TAKE_ON_FAULT, Deed.REPAGE,
    Deed.CHANGE_BOOK, Deed.MOVE_DUE_DATE, Deed.HAND_IN, Deed.CHANGE_PLAN, Deed.CHANGE_TERMS, Deed.ASK_CONSENT,
    Deed.GIVE_CONSENT, Deed.DECLINE_CONSENT, Deed.WITHDRAW_CONSENT, Deed.ANNOUNCE_SILENCE, Deed.APPROVE_BY_SILENCE,
    Deed.GIVE_TO_PRINTER, *MONEY_DEEDS, Deed.TAKE_BACK_LETTER, Deed.AGREE_PAUSE, Deed.CONFIRM_TERMS,
)  # fmt: skip


def mail_for(notice: Notice, paper: Callable[[Letter], bytes]) -> Mail | None:
    """Write the mail a notice owes; None where the person may not, or may no longer, read the entry.

    ``paper`` gives a letter's PDF. Needs ``entry__book``, ``entry__passage`` and ``person`` joined.
    """
    entry = _entry_of(notice)
    speak_of(entry.book)
    seat = Seat.objects.filter(book=entry.book, person_id=notice.person_id, ended_at=None).first()
    if notice.person.mail == MailChoice.NONE:
        return None
    if entry.deed == Deed.END_SEAT:
        return _farewell_mail(notice) if seat is None else None
    if seat is None or not may_be_told(entry, seat):
        return None
    if entry.deed == Deed.SEND_LETTER:
        return _letter_mail(notice, seat, paper)
    return _plain_mail(notice, seat)


def may_be_told(entry: LedgerEntry, seat: Seat) -> bool:
    """Say whether a seat is written to about an entry: it may read it, or the entry asks this very seat."""
    if entry.deed == Deed.ASK_TO_READ:
        return payload_of(entry, AskToReadData)["seat"] == seat.pk
    if entry.deed == Deed.OPEN_VOTE:
        return seat.pk in payload_of(entry, OpenVoteData)["asked"]
    return Sight(entry.sight) in permits.sights_of(Role(seat.role))


def subject_of(entry: LedgerEntry) -> str:
    """Name an entry in a few words and the book it is about."""
    named = SUBJECTS.get(entry.deed)
    return f"{named(entry)} · {entry.book.title}" if named else entry.book.title


def _entry_of(notice: Notice) -> LedgerEntry:
    """Give the entry that a notice of its own mail is about; dates and what cannot be met go into digests."""
    assert notice.entry is not None
    return notice.entry


def _id_of(notice: Notice) -> str:
    # The entry's own fingerprint is in it, so the id is the same however often the mail is made.
    return message_id(f"notice-{notice.pk}-{_entry_of(notice).sha256[:16]}")


def _way_to(entry: LedgerEntry, seat: Seat) -> tuple[str, str]:
    """Say where what an entry tells of is read or answered, and what the link there is called."""
    if entry.deed in (Deed.CHANGE_TERMS, Deed.CONFIRM_TERMS, Deed.ASK_CONSENT):
        return link("terms", entry.book_id), "Open the terms"
    if entry.deed in (Deed.CHANGE_BRIEF, Deed.ADD_REFERENCES, Deed.REMOVE_REFERENCE):
        spread = entry.data.get("spread_id")
        return (link("spread-brief", spread) if spread else link("book-brief", entry.book_id)), "Read the brief"
    if entry.deed == Deed.SET_TEXT:
        return link("spread-text", payload_of(entry, SetTextData)["spread_id"]), "Look at the text"
    if entry.deed == Deed.JUDGE_PROOF:
        return link("measured-proofs", entry.book_id), "Open the measured proofs"
    if entry.deed == Deed.SET_PRINT:
        return link("print", entry.book_id), "Open the print set-up"
    if entry.deed == Deed.ASK_TO_READ:
        return link("desk"), "Open your desk"
    if entry.deed in (Deed.OPEN_VOTE, Deed.CLOSE_VOTE, Deed.DECIDE_VOTE):
        return link("vote", entry.data["vote"]), "Open the vote"
    if entry.deed in MONEY_DEEDS:
        return link("statement", entry.book_id), "Open the statement"
    if entry.deed == Deed.TAKE_BACK_LETTER:
        return link("letter", payload_of(entry, TakeBackLetterData)["letter"]), "Open the letter"
    if entry.deed == Deed.REPAGE:
        return link("plan", entry.book_id), "Look at the pages"
    if entry.deed == Deed.AGREE_PAUSE:
        return link("proposals", entry.book_id), "Read it"
    if entry.deed == Deed.PROPOSE:
        is_asked = is_asked_by(entry, seat)
        return link("proposals", entry.book_id), "Read and answer it" if is_asked else "Read it"
    if entry.passage_id:
        return link("passage", entry.passage_id), "Open it"
    return link("book-map", entry.book_id), "Open the book"


def _plain_mail(notice: Notice, seat: Seat) -> Mail:
    entry = _entry_of(notice)
    address, label = _way_to(entry, seat)
    dated = entry.deed in _FIGURES
    stop = stop_link(notice.person)
    context = {
        "name": notice.person.name,
        "words": told_to(entry.as_entry(), Role(seat.role)),
        "cover_note": cover_note_of(entry),
        "warning": warned_of_fee(entry) if seat.role == Role.ART_DIRECTOR else "",
        "book": entry.book,
        "address": address,
        "label": label,
        "caution": dated,
        "stand": stand_of(entry) if entry.sight == Sight.ALL else None,
        "stop": stop,
    }
    text, html = written("plain", context)
    return Mail(
        to=notice.person.email,
        subject=subject_of(entry),
        text=text,
        html=html,
        message_id=_id_of(notice),
        stop=stop,
    )


def _farewell_mail(notice: Notice) -> Mail:
    """Tell somebody whose seat ended what they keep, and where."""
    entry = _entry_of(notice)
    words = (
        f"{sentence(entry.as_entry())} You keep what you made and what concerned you until today: your pictures as you "
        "put them in, every letter, the ledger and the statement. Take them home as one archive while you can: "
        f"{link('farewell-archive', entry.book_id)}"
    )
    stop = stop_link(notice.person)
    context = {
        "name": notice.person.name,
        "words": words,
        "warning": "",
        "book": entry.book,
        "address": link("farewell", entry.book_id),
        "label": "Read it on the portal",
        "caution": True,
        "stand": stand_of(entry),
        "stop": stop,
    }
    text, html = written("plain", context)
    subject = f"What you keep · {entry.book.title}"
    return Mail(
        to=notice.person.email,
        subject=subject,
        text=text,
        html=html,
        message_id=_id_of(notice),
        stop=stop,
    )


def _cost(page: LetterPage) -> dict[str, object]:
    """Say what a letter costs as its page and its paper do; nothing where it asks for nothing that costs."""
    if page.cost is None or not page.tells_cost:
        return {}
    return {"counted": counted_words(page.cost), "costs": cost_lines(page.cost), "cost_caution": TERMS_CAUTION}


def _letter_mail(notice: Notice, seat: Seat, paper: Callable[[Letter], bytes]) -> Mail:
    entry = _entry_of(notice)
    letter = Letter.objects.select_related("book", "sent_by__person").get(
        pk=payload_of(entry, SendLetterData)["letter"]
    )
    # Everybody is sent the same letter: what went to the illustrator. The house's own notes stay out of mails.
    page = letter_page(letter, Role.ILLUSTRATOR)
    places, approved = places_marked(page), approved_pictures(page, small=True)
    stop = stop_link(notice.person)
    context = {
        "name": notice.person.name,
        "page": page,
        "book": letter.book,
        "address": link("letter", letter.pk),
        "is_illustrator": seat.role == Role.ILLUSTRATOR,
        "asks_me": seat.role == Role.ILLUSTRATOR and page.asks_the_illustrator,
        "shown": set(places),
        "pictured": set(approved),
        **_cost(page),
        "beyond": asks_beyond_fee(entry) if seat.role == Role.AGENT else (),
        "stop": stop,
    }
    text, html = written("letter", context)
    subject = f"{subject_of(entry)} · extra round" if context["beyond"] else subject_of(entry)
    return Mail(
        to=notice.person.email,
        subject=subject,
        text=text,
        html=html,
        message_id=_id_of(notice),
        inlines=(
            *((f"approved-{passage}@roughproof", jpeg) for passage, jpeg in approved.items()),
            *((f"note-{pk}@roughproof", jpeg) for pk, jpeg in places.items()),
        ),
        papers=((f"letter {letter.number}.pdf", paper(letter)),),
        stop=stop,
    )
