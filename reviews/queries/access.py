"""Fetch or refuse: the only way in which a page gets at a row.

Each getter returns the row together with the seat through which the person sees it. A stranger is
told that there is no such page (``NotThere``); a member without the right is told so (``NotAllowed``), except of
what must not even be counted from outside: an unsent note, a draft or a letter being written is not there for whoever
may not read it, whatever is asked of it, and for who sees a part of the art (``queries.reach``) nothing is there
beside it.
"""

from __future__ import annotations

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from reviews.models import (
    Book,
    Derivation,
    HandIn,
    Invoice,
    LedgerEntry,
    Letter,
    LetterAnswer,
    Note,
    OptionVote,
    Passage,
    Payment,
    Person,
    Picture,
    Proposal,
    Reference,
    Seat,
    SpreadText,
    TermsVersion,
    clocks,
)
from reviews.models.stage_names import speak_of
from reviews.queries.derived import stands_behind
from reviews.queries.reach import reaches, shows_hand_in, shows_picture
from reviews.rules import permits
from reviews.rules.states import (
    PUBLISHER_SIDE,
    Deed,
    Gate,
    HandInState,
    NoteState,
    PassageState,
    Reach,
    Refused,
    Role,
)


class NotThere(Exception):
    """For this person the thing does not exist."""


class NotAllowed(Exception):
    """The person has a seat, and it does not carry this right."""


def live_seats(person: Person) -> QuerySet[Seat]:
    """List the person's seats that have not ended."""
    return Seat.objects.filter(person=person, ended_at=None)


def _seat_on(person: Person, book_id: int) -> Seat:
    """Find the person's seat on a book, or say that there is no such book (1 query)."""
    seat = live_seats(person).select_related("person", "book").filter(book_id=book_id).first()
    if seat is None:
        raise NotThere
    speak_of(seat.book)
    clocks.take_up(seat.book)
    return seat


def _seat_among(person: Person, book_id: int, book: Book | None = None) -> Seat:
    """Find the person's seat as `_seat_on` does, and every seat the book ever had with it: `Book.all_seats` (1 query).

    For pages that name the people of a book. The book itself comes along unless it is at hand.
    """
    seats = Seat.objects.select_related("person", *([] if book else ["book"])).filter(book_id=book_id).order_by("pk")
    all_seats = list(seats)
    seat = next((one for one in all_seats if one.person_id == person.pk and one.ended_at is None), None)
    if seat is None:
        raise NotThere
    seat.book = book or seat.book
    seat.book.all_seats = all_seats
    speak_of(seat.book)
    return seat


def seat_for(person: Person, passage: Passage) -> Seat:
    """Find the seat through which a person sees a passage and all that hangs on it (1 query; 2 for an expert reader).

    Whatever belongs to a passage is fetched through here: some seats see a part of the book's art only.
    """
    seat = _seat_on(person, passage.book_id)
    # "Not allowed" would say that it exists: a guest could count drafts and spreads by trying numbers.
    if not reaches(seat, passage):
        raise NotThere
    return seat


def get_book(
    person: Person, book_id: int, *, thing: str = "book", deed: Deed | None = None, with_seats: bool = False
) -> tuple[Book, Seat]:
    """Fetch a book for looking at ``thing``, or for a deed (1 query), ``with_seats`` with all of its seats."""
    seat = _seat_among(person, book_id) if with_seats else _seat_on(person, book_id)
    _check(seat, thing, deed, None)
    return seat.book, seat


def get_passage(
    person: Person, passage_id: int, *, thing: str = "passage", deed: Deed | None = None
) -> tuple[Passage, Seat]:
    """Fetch a passage with spread, stage, hand-in joined (2 queries)."""
    passage = (
        Passage.objects.live()
        .with_places()
        .select_related("hand_in", "pending", "approved_picture")
        .annotate(has_references=Exists(_references))  # type: ignore[no-redef]  # it fills what the model only names
        .annotate(has_proposals=Exists(_proposals))
        .annotate(ledger_head=Subquery(_head), lets_silence_approve=Exists(_silent))
        .annotate(has_text=Exists(_texts), has_book_notes=Exists(_book_notes))
        .filter(pk=passage_id)
        .first()
    )
    if passage is None:
        passage = _dropped(passage_id)
    if passage is None:
        raise NotThere
    seat = seat_for(person, passage)
    _check(seat, thing, deed, PassageState(passage.state))
    if passage.spread.dropped_at is not None:
        # With the page on which its art is kept, for whoever may look at it.
        kept_at = {"dropped": passage.spread_id} if permits.sees(Role(seat.role), "plan") else {}
        raise Refused("spread-dropped", spread=passage.spread.label, **kept_at)
    return passage, seat


def _dropped(passage_id: int) -> Passage | None:
    return Passage.objects.with_places().filter(pk=passage_id, spread__dropped_at__isnull=False).first()


# Whether pictures or PDFs lie beside the briefs of a passage: most have none, and then none are looked for.
_texts = SpreadText.objects.filter(spread=OuterRef("spread"))
_references = Reference.objects.filter(
    Q(spread=OuterRef("spread")) | Q(spread=None), book=OuterRef("book"), removed_at=None
)
# Whether notes on the whole book wait for an answer: mostly none do.
_book_notes = Note.objects.filter(
    passage__book=OuterRef("book"), reach=Reach.BOOK, state=NoteState.SENT, responded_at=None
)
# Whether a date of it is proposed: mostly none is.
_proposals = Proposal.objects.open().filter(passage=OuterRef("pk"))
# What the count of its rounds is kept under, and whether silence has to be asked for at all.
_head = LedgerEntry.objects.filter(book=OuterRef("book")).order_by("-seq").values("sha256")[:1]
_silent = TermsVersion.objects.that_let_silence_approve().filter(book=OuterRef("book"))


def get_hand_in(person: Person, hand_in_id: int, *, deed: Deed | None = None) -> tuple[HandIn, Seat]:
    """Fetch a hand-in the person may see; another's draft does not exist for them (2 queries)."""
    hand_in = (
        HandIn.objects.select_related("passage__book", "passage__spread", "passage__stage", "passage__hand_in", "by")
        .filter(pk=hand_in_id, passage__spread__removed_at=None)
        .first()
    )
    if hand_in is None:
        raise NotThere
    seat = seat_for(person, hand_in.passage)
    if not may_see_hand_in(seat, hand_in):
        raise NotThere
    _check(seat, "passage", deed, None)
    return hand_in, seat


def get_picture(
    person: Person, picture_id: int, *, thing: str = "pictures", deed: Deed | None = None
) -> tuple[Picture, Seat]:
    """Fetch a picture the person may see (2 queries)."""
    picture = (
        Picture.objects.select_related(
            "hand_in__passage__book", "hand_in__passage__spread", "hand_in__passage__stage", "hand_in__by"
        )
        .filter(pk=picture_id)
        .first()
    )
    if picture is None:
        raise NotThere
    seat = seat_for(person, picture.hand_in.passage)
    # What was taken out of a draft was never handed in, though its hand-in may have been since.
    is_out = picture.removed_at is not None and picture.hand_in.by.person_id != seat.person_id
    if is_out and permits.sees(Role(seat.role), "originals"):
        # The sheets of a picture that was made from them are its originals, and go where it goes.
        is_out = not stands_behind(picture)
    seen = may_see_picture(picture, seat) or (thing == "pictures" and _is_in_a_letter(seat, picture))
    if is_out or not seen:
        raise NotThere
    _check(seat, thing, deed, None)
    return picture, seat


def get_derivation(
    person: Person, derivation_id: int, *, thing: str = "draft-hand-in", deed: Deed | None = None
) -> tuple[Derivation, Seat]:
    """Fetch what is made from sheets of a draft; another's draft does not exist for them (2 queries)."""
    derivation = (
        Derivation.objects.select_related("hand_in__passage__stage", "hand_in__by", "picture")
        .filter(pk=derivation_id, hand_in__passage__spread__removed_at=None)
        .first()
    )
    if derivation is None:
        raise NotThere
    seat = seat_for(person, derivation.hand_in.passage)
    if not may_see_hand_in(seat, derivation.hand_in):
        raise NotThere
    _check(seat, thing, deed, None)
    return derivation, seat


def get_note(person: Person, note_id: int, *, deed: Deed | None = None) -> tuple[Note, Seat]:
    """Fetch a note the person may see: unsent ones exist for their author and the publisher's house (2 queries)."""
    note = (
        Note.objects.select_related("passage__book", "passage__spread", "passage__stage", "author__person", "picture")
        .filter(pk=note_id)
        .first()
    )
    if note is None:
        raise NotThere
    seat = seat_for(person, note.passage)
    if not may_see_note(seat, note):
        raise NotThere
    _check(seat, "passage", deed, None)
    return note, seat


def get_letter(person: Person, letter_id: int, *, deed: Deed | None = None) -> tuple[Letter, Seat]:
    """Fetch a letter: sent ones for every member, the draft for those who may read it; with all seats (2 queries)."""
    letter = Letter.objects.select_related("book", "sent_by__person").filter(pk=letter_id).first()
    if letter is None:
        raise NotThere
    seat = _seat_among(person, letter.book_id, letter.book)
    # First, or a refused deed would tell that a letter of this number is being written.
    role = Role(seat.role)
    if not permits.sees(role, "letters" if letter.sent_at else "draft-letter"):
        raise NotThere
    _check(seat, "letters", deed, None)
    return letter, seat


def get_answer(person: Person, answer_id: int, *, deed: Deed) -> tuple[LetterAnswer, Seat]:
    """Fetch one answer of a sent letter, for a deed about it (2 queries)."""
    answer = LetterAnswer.objects.select_related("letter__book", "passage").filter(pk=answer_id).first()
    if answer is None or answer.letter.sent_at is None:
        raise NotThere
    seat = seat_for(person, answer.passage)
    if not permits.sees(Role(seat.role), "letters"):
        raise NotThere
    _check(seat, "letters", deed, None)
    return answer, seat


def get_vote(
    person: Person, vote_id: int, *, thing: str = "votes", deed: Deed | None = None
) -> tuple[OptionVote, Seat]:
    """Fetch a vote among options, with its passage and who decides (2 queries)."""
    vote = (
        OptionVote.objects.select_related(
            "passage__book", "passage__spread", "passage__stage", "hand_in__by", "decider__person", "chosen",
            "opened_by__person", "closed_by__person", "decided_by__person",
        )
        .filter(pk=vote_id, passage__spread__removed_at=None)
        .first()
    )  # fmt: skip
    if vote is None:
        raise NotThere
    seat = seat_for(person, vote.passage)
    # Whoever may not vote does not learn that there is one: it is the publisher's own affair.
    if not permits.sees(Role(seat.role), "votes"):
        raise NotThere
    _check(seat, thing, deed, None)
    return vote, seat


def get_invoice(person: Person, invoice_id: int, *, deed: Deed) -> tuple[Invoice, Seat]:
    """Fetch an invoice that was told, for a deed about it (2 queries)."""
    told = Invoice.objects.select_related("book").filter(pk=invoice_id).first()
    if told is None:
        raise NotThere
    seat = _seat_on(person, told.book_id)
    if not permits.sees(Role(seat.role), "statement"):
        raise NotThere
    _check(seat, "statement", deed, None)
    return told, seat


def get_payment(person: Person, payment_id: int, *, deed: Deed) -> tuple[Payment, Seat]:
    """Fetch a payment that was told, for a deed about it (2 queries)."""
    told = Payment.objects.select_related("invoice").filter(pk=payment_id).first()
    if told is None:
        raise NotThere
    seat = _seat_on(person, told.invoice.book_id)
    if not permits.sees(Role(seat.role), "statement"):
        raise NotThere
    _check(seat, "statement", deed, None)
    return told, seat


def may_see_hand_in(seat: Seat, hand_in: HandIn) -> bool:
    """Say whether a seat sees a hand-in.

    A draft is its maker's, also when the maker has left it; what was taken back, and what was handed in at a hidden
    stage, is for the illustrators who sat then, and a proof that was taken back is for the publisher's side.
    Needs ``passage.stage`` and ``by`` joined.
    """
    role = Role(seat.role)
    if seat.passage_id is not None and seat.passage_id != hand_in.passage_id:
        return False
    if not shows_hand_in(seat, hand_in):
        return False
    if hand_in.state == HandInState.DRAFT:
        return hand_in.by_id == seat.pk
    if hand_in.state == HandInState.LEFT:
        return hand_in.by.person_id == seat.person_id
    if hand_in.state == HandInState.WITHDRAWN and Role(hand_in.by.role) in PUBLISHER_SIDE:
        return role in PUBLISHER_SIDE
    if hand_in.state == HandInState.WITHDRAWN or hand_in.passage.stage.gate == Gate.HIDDEN:
        return role == Role.ILLUSTRATOR and sat_together(seat, hand_in.by)
    return permits.sees(role, "pictures")


def may_see_picture(picture: Picture, seat: Seat) -> bool:
    """Say whether a seat that reaches its passage sees a picture; needs its hand-in's maker, stage, spread joined."""
    return may_see_hand_in(seat, picture.hand_in) and shows_picture(seat, picture)


def may_see_note(seat: Seat, note: Note) -> bool:
    """Say whether a seat reads a note: its own, those of letters, or all of the house's; needs ``author`` joined."""
    role = Role(seat.role)
    if permits.sees(role, "sent-notes" if note.state == NoteState.SENT else "unsent-notes"):
        return True
    return permits.may(role, Deed.PIN_NOTE) and note.author.person_id == seat.person_id


def sat_together(seat: Seat, other: Seat) -> bool:
    """Say whether two seats are one person's, or were held at the same time: a successor is not let into what went
    before."""
    if seat.person_id == other.person_id:
        return True
    return other.ended_at is None or other.ended_at > seat.since


def _is_in_a_letter(seat: Seat, picture: Picture) -> bool:
    """Say whether a picture that was taken back stands in a letter all the same: then its readers see the place."""
    if picture.hand_in.state != HandInState.WITHDRAWN or not permits.sees(Role(seat.role), "letters"):
        return False
    return Note.objects.filter(picture=picture, state=NoteState.SENT).exists()


def is_publisher_side(seat: Seat) -> bool:
    return Role(seat.role) in PUBLISHER_SIDE


def _check(seat: Seat, thing: str, deed: Deed | None, state: PassageState | None) -> None:
    role = Role(seat.role)
    if deed is not None:
        # The state is left to the action, which asks again under the lock and answers in a sentence.
        if role not in permits.PERMITS[deed][0]:
            raise NotAllowed
    elif not permits.sees(role, thing):
        raise NotAllowed
