"""Tell a story of deeds: each happens on a day, done by the same actions that people use."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, time, timedelta
from decimal import Decimal
from functools import cached_property, partial, wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.core.files import File
from django.utils import timezone

from reviews import storage
from reviews.actions import (
    books,
    briefs,
    dates,
    hand_ins,
    invoices,
    letters,
    notes,
    pauses,
    pictures,
    proposals,
    seats,
    second_voice,
    terms,
)
from reviews.actions.clock import as_if_at
from reviews.actions.people import name_operator
from reviews.actions.print_set_up import set_print
from reviews.demo.contract import COVER_PROOF, contract_text
from reviews.demo.people import (
    COVER,
    FILES_DUE,
    GUEST,
    INSIDE,
    OPERATOR,
    PEOPLE,
    PUBLISHER,
    SIGNED,
    TITLE,
)
from reviews.demo.ready import Ready
from reviews.demo.redraws import DemoNote
from reviews.demo.sedgewater import as_printed, tell_foil
from reviews.models import Book, Brief, HandIn, Letter, Note, Passage, Picture, Seat
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.queries.briefs import briefs_concerning, stood_at
from reviews.queries.letters import letter_fingerprint
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.fees import Money
from reviews.rules.contract.terms_text import terms_from_text
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import NoteState, Reach, Role

CAUSES = {"brief": "brief", "new_direction": "direction", "text_change": "text", "question": "question"}
PLACES, ZONE = ("GB-ENG",), "Europe/London"


def _in_its_time(deed: Callable[..., None]) -> Callable[..., None]:
    """Let a deed of the story wait for its day: chapters follow subjects, the ledger follows time."""

    @wraps(deed)
    def write_down(self: Teller, *args: Any, **kwargs: Any) -> None:
        self.deeds.append((self.day, partial(deed, self, *args, **kwargs)))

    return write_down


class Teller:
    """Days are counted in working days before today: ``on(40)`` is forty working days ago.

    Told deeds are written down with their day and happen in ``play()``, in the order of their days.
    """

    def __init__(self, ready: Sequence[Ready]) -> None:
        self.ready = {
            (r.commission.piece, r.commission.stage, r.commission.version, r.commission.option): r for r in ready
        }
        self.seats: dict[Role, Seat] = {}
        self.deeds: list[tuple[int, Callable[[], None]]] = []
        self.invoices: dict[str, int] = {}
        self.minute = 0
        self.day = 0

    @cached_property
    def today(self):
        return timezone.now().astimezone(ZoneInfo(ZONE)).date()

    @cached_property
    def calendar(self):
        return working_calendar(PLACES)

    def date_of(self, days_ago: int):
        return add_working_days(self.today, -days_ago, self.calendar)

    def on(self, days_ago: int) -> Teller:
        """Turn to a day."""
        self.day = days_ago
        return self

    def play(self) -> None:
        """Let everything happen, day by day; through a day deeds follow each other from ten in the morning."""
        happened = None
        for days_ago, deed in sorted(self.deeds, key=lambda told: -told[0]):
            if days_ago != happened:
                happened = self.day = days_ago
                self.minute = 0
            deed()

    def moment(self):
        self.minute += 2
        start = datetime.combine(self.date_of(self.day), time(10), ZoneInfo(ZONE))
        return as_if_at(min(start + timedelta(minutes=self.minute), timezone.now()))

    # The book

    @_in_its_time
    def set_up(self) -> None:
        """Corvin sets the book up and everybody takes a seat; somebody looks after the machine."""
        with self.moment():
            name, email = OPERATOR
            seats.make_person(email=email, name=name, password=None)
            name_operator(email, runs_portal=True)
            people = {role: seats.make_person(email=e, name=n, password=None) for role, (n, e) in PEOPLE.items()}
            new = books.NewBook(
                title=TITLE,
                publisher=PUBLISHER,
                n_pages=32,
                trim_width_mm=Decimal(250),
                trim_height_mm=Decimal(250),
                binding=BindingKind.CASE,
                ends=EndsKind.SELF,
                inside=INSIDE,
                cover=COVER,
                start_on=self.date_of(self.day),
                final_on=self.date_of(-FILES_DUE),
                places=PLACES,
                zone=ZONE,
            )
            book = books.make_book(new, actor=people[Role.ART_DIRECTOR])
        self.book: Book = book
        self.seats[Role.ART_DIRECTOR] = book.seats.get()
        for role, person in people.items():
            if role not in self.seats:
                self.seats[role] = self.seat(person.email, person.name, role, person=person)

    @_in_its_time
    def set_print(self) -> None:
        """Tamsin tells how the book is printed: the paper, the printer, and so the spine."""
        with self.moment():
            set_print(self.book.pk, as_printed(self.book), actor=self.seats[Role.PRODUCTION])

    @_in_its_time
    def tell_plate(self, piece: str) -> None:
        """Tamsin tells that the plate is for gold foil over the printed art."""
        with self.moment():
            tell_foil(self.passage(piece, "finish"), actor=self.seats[Role.PRODUCTION])

    @_in_its_time
    def enter_terms(
        self, changes: dict[str, Any] | None = None, *, remark: str = "", n_seen: int = 0, waits: bool = False
    ) -> None:
        """Enter the terms as signed, days and rounds as the stage plans have them, or amend them from today on.

        The illustrator's side agrees, unless the amendment still waits for the agent's word.
        """
        own = {"signed_on": self.date_of(SIGNED), "cover_proof_on": self.date_of(-COVER_PROOF)}
        text = contract_text(self.book, changes or {}, **own, amended_on=self.date_of(self.day))
        with self.moment():
            entered = terms.propose_terms(
                self.book.pk,
                terms_from_text(text),
                n_seen=n_seen or (1 if changes else 0),
                house_remark=remark,
                actor=self.seats[Role.ART_DIRECTOR],
            )
            if not waits:
                proposals.accept_proposal(entered.pk, actor=self.seats.get(Role.AGENT) or self.seats[Role.ILLUSTRATOR])

    @_in_its_time
    def invoice(self, number: str, name: str, amount: str) -> None:
        """Let the agent tell an invoice for an instalment."""
        money, on = Money(Decimal(amount), "GBP"), self.date_of(self.day)
        with self.moment():
            told = invoices.tell_invoice(
                self.book.pk, number=number, name=name, money=money, on=on, actor=self.seats[Role.AGENT]
            )
        self.invoices[number] = told.pk

    @_in_its_time
    def paid(self, number: str, amount: str = "") -> None:
        """Let the art director say that an invoice was paid, or a part of it."""
        part = Decimal(amount) if amount else None
        with self.moment():
            actor = self.seats[Role.ART_DIRECTOR]
            invoices.say_paid(self.invoices[number], self.date_of(self.day), part, actor=actor)

    @_in_its_time
    def received(self, number: str, amount: str = "") -> None:
        """Let the agent say that its money came, or a part of it."""
        part = Decimal(amount) if amount else None
        with self.moment():
            actor = self.seats[Role.AGENT]
            invoices.confirm_payment(self.invoices[number], self.date_of(self.day), part, actor=actor)

    def seat(self, email: str, name: str, role: Role, **taking) -> Seat:
        passage_id = taking.pop("passage_id", None)
        with self.moment():
            invitation = seats.invite(
                self.book.pk,
                email=email,
                name=name,
                role=role,
                passage_id=passage_id,
                actor=self.seats[Role.ILLUSTRATOR if role == Role.AGENT else Role.ART_DIRECTOR],
            )
            return seats.take_seat(invitation.secret, **taking)

    @_in_its_time
    def seat_guest(self, piece: str, stage: str) -> None:
        self.seats[Role.GUEST] = self.seat(GUEST[1], GUEST[0], Role.GUEST, passage_id=self.passage(piece, stage).pk)

    @_in_its_time
    def do(self, deed: Callable[[Teller], None]) -> None:
        """Do something that happens once in the story, on its day (``demo.asides``)."""
        deed(self)

    @_in_its_time
    def thank_guest(self) -> None:
        """End the guest's seat: the meeting is over."""
        with self.moment():
            seats.end_seat(self.seats[Role.GUEST].pk, actor=self.seats[Role.ART_DIRECTOR])

    def passage(self, piece: str, stage: str) -> Passage:
        rows = Passage.objects.select_related("hand_in").filter(book=self.book, stage__kind=stage)
        if piece == "cover":
            return rows.get(spread__kind="cover")
        return rows.get(spread__first_page=int(piece.split("-")[0]))

    @_in_its_time
    def move(self, piece: str, stage: str, *, to: int, reason: str, agreed: bool = True) -> None:
        """Let the illustrator propose a date and the art director agree to it, or not answer; sooner needs no word."""
        with self.moment():
            asked, to_on = self.passage(piece, stage), self.date_of(to)
            proposal = dates.ask_for_date(asked.pk, to=to_on, reason=reason, actor=self.seats[Role.ILLUSTRATOR])
            if proposal is not None and agreed:
                proposals.accept_proposal(proposal.pk, actor=self.seats[Role.ART_DIRECTOR])

    @_in_its_time
    def pause(self, first: int, last: int, reason: str) -> None:
        """Let the art director propose a pause and the illustrator agree."""
        with self.moment():
            days = {"first": self.date_of(first), "last": self.date_of(last)}
            made = pauses.propose_pause(self.book.pk, **days, reason=reason, actor=self.seats[Role.ART_DIRECTOR])
            proposals.accept_proposal(made.pk, actor=self.seats[Role.ILLUSTRATOR])

    # The illustrator

    @_in_its_time
    def draft(self, piece: str, stage: str, **files) -> None:
        """Put painted files into a draft that is not handed in."""
        self._draft(piece, stage, **files)

    def _draft(
        self, piece: str, stage: str, version: int = 1, *, options: Sequence[int] = (0,), file_stage: str = ""
    ) -> HandIn:
        """Put painted files into the draft of a passage; the bytes go through the same door as an upload."""
        passage, picture = self.passage(piece, stage), None
        for option in options:
            ready = self.ready[piece, file_stage or stage, version, option]
            with self.moment(), ready.path.open("rb") as data:
                storage.keep_renditions(ready.sha256, ready.renditions)
                upload = File(data, name=ready.commission.file_name)
                picture = hand_ins.add_picture(passage.pk, upload, sha256=ready.sha256, actor=self._maker(stage))
                pictures.picture_ready(
                    picture.pk, width_px=ready.width_px, height_px=ready.height_px, facts=ready.facts
                )
        assert picture is not None
        return picture.hand_in

    def _maker(self, stage: str) -> Seat:
        """Name who hands in at a stage: a proof comes from the printer by way of production."""
        return self.seats[Role.PRODUCTION if stage in PRINTERS_STAGES else Role.ILLUSTRATOR]

    @_in_its_time
    def hand_in(self, piece: str, stage: str, version: int = 1, *, words: str = "", **files) -> None:
        draft = self._draft(piece, stage, version, **files)
        with self.moment():
            hand_ins.hand_in(draft.pk, cover_note=words, actor=self._maker(stage))

    @_in_its_time
    def answer_notes(self, piece: str, stage: str, unlike: dict[int, tuple[str, str]] | None = None) -> None:
        """Work down the newest letter's notes: done, but for the places (from 0) in ``unlike``."""
        waiting = Note.objects.filter(passage=self.passage(piece, stage), state=NoteState.SENT, response="")
        for place, note in enumerate(waiting.order_by("number")):
            response, words = (unlike or {}).get(place, ("done", ""))
            with self.moment():
                notes.answer_note(note.pk, response=response, words=words, actor=self.seats[Role.ILLUSTRATOR])

    # The publisher

    @_in_its_time
    def pin(self, piece: str, stage: str, marked: Sequence[DemoNote]) -> None:
        """Pin notes on the newest hand-in."""
        passage = self.passage(piece, stage)
        picture = Picture.objects.filter(hand_in=passage.hand_in, removed_at=None).first()
        for note in marked:
            cause, _, missed = note.cause.partition(": ")
            with self.moment():
                notes.pin_note(
                    passage.pk,
                    picture.pk,
                    region={"kind": note.shape, "points": [list(point) for point in note.points]}
                    if note.points
                    else None,
                    reach=Reach.PLACE if note.points else note.shape,
                    words=note.words,
                    cause=CAUSES.get(cause, cause),
                    brief_line=self._line(passage, missed) if missed else None,
                    actor=self.seats[Role(note.role)],
                )

    def _line(self, passage: Passage, beginning: str) -> tuple[int, int]:
        """Find the line of the brief that begins so, as it stood when the picture was handed in."""
        stood = stood_at(briefs_concerning(passage), passage.hand_in.handed_in_at)
        return next((b.pk, line.number) for b in stood for line in b.lines if line.words.startswith(beginning))

    @_in_its_time
    def brief(self, piece: str | None, parts: dict[str, str]) -> None:
        """Write the next version of a spread's brief, or of the book's."""
        spread = self.passage(piece, "sketch").spread_id if piece else None
        seen = Brief.objects.filter(book=self.book, spread=spread).count()
        with self.moment():
            briefs.change_brief(self.book.pk, spread, parts, seen=seen, actor=self.seats[Role.ART_DIRECTOR])

    @_in_its_time
    def mark(self, piece: str, role: Role, marks: dict[int, tuple[str, str]]) -> None:
        """Mark idea options: {option: (verdict, why)}."""
        for option, (verdict, why) in marks.items():
            picture = self.passage(piece, "ideas").hand_in.pictures.get(position=option)
            with self.moment():
                notes.mark_option(picture.pk, verdict=verdict, why=why, actor=self.seats[role])

    @_in_its_time
    def agree(self, piece: str, stage: str) -> None:
        with self.moment():
            second_voice.agree(self.passage(piece, stage).hand_in_id, actor=self.seats[Role.EDITOR])

    @_in_its_time
    def object(self, piece: str, stage: str, words: str) -> None:
        with self.moment():
            second_voice.object_to(self.passage(piece, stage).hand_in_id, words, actor=self.seats[Role.EDITOR])

    @_in_its_time
    def word(self, words: str) -> None:
        with self.moment():
            letters.word_letter(self.book.pk, words, actor=self.seats[Role.ART_DIRECTOR])

    @_in_its_time
    def answers(self, stage: str, answers: dict[str, str], choose: dict[str, int] | None = None) -> None:
        """Write answers into the draft letter: {piece: answer}; ``choose`` names the option approved."""
        for piece, answer in answers.items():
            passage = self.passage(piece, stage)
            position = (choose or {}).get(piece)
            picture = passage.hand_in.pictures.get(position=position) if position else None
            with self.moment():
                letters.set_answer(
                    passage.pk,
                    answer=answer,
                    picture_id=picture.pk if picture else None,
                    actor=self.seats[Role.ART_DIRECTOR],
                )

    @_in_its_time
    def reword(self, piece: str, stage: str, role: Role, words: str) -> None:
        """Say a reviewer's first note in the letter's own words."""
        note = self.passage(piece, stage).notes.filter(author__role=role).first()
        with self.moment():
            letters.weigh_note(note.pk, weighing="through", letter_words=words, actor=self.seats[Role.ART_DIRECTOR])

    @_in_its_time
    def send(self) -> None:
        """Send the letter as it stands."""
        draft = Letter.objects.get(book=self.book, sent_at=None)
        with self.moment():
            letters.send_letter(
                draft.pk,
                looked_at=letter_fingerprint(draft),
                over_is_agreed=True,
                over_brief=True,
                actor=self.seats[Role.ART_DIRECTOR],
            )
