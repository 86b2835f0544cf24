"""Seats: offered by mail, taken once, ended."""

from __future__ import annotations

import secrets
from datetime import timedelta

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.crypto import constant_time_compare

from reviews import jobs
from reviews.actions._deed import Act, deed_on
from reviews.actions._outbox import owe_farewell
from reviews.actions.clock import moment
from reviews.models import Book, HandIn, Invitation, Passage, Person, Seat
from reviews.queries.seats import ever_held
from reviews.rules import permits
from reviews.rules.payload_shapes import EndSeatData, InviteData, LetAgentAnswerData, RevokeInvitationData, TakeSeatData
from reviews.rules.states import Deed, HandInState, Refused, Role

INVITATION_DAYS = 14
_SEED_BYTES = 32


def invite(book_id: int, *, email: str, name: str, role: str, passage_id: int | None = None, actor: Seat) -> Invitation:
    """Offer a seat by mail. The link works once, for 14 days, until it is revoked.

    A guest is invited to one passage.
    """
    _checked_address(email)
    with deed_on(Book, book_id, Deed.INVITE, actor) as act:
        return offer(act, email=email, name=name, role=role, passage_id=passage_id)


def offer(act: Act, *, email: str, name: str, role: str, passage_id: int | None = None) -> Invitation:
    """Offer one seat, as part of an act under way."""
    address = _checked_address(email)
    _check_may_offer(Role(role), act)
    passage = _guest_passage(Role(role), passage_id, act)
    _check_not_there(address, act)
    invitation = Invitation.objects.create(
        book=act.book,
        email=address,
        name=name.strip() or address,
        role=Role(role),
        passage=passage,
        seed=secrets.token_urlsafe(_SEED_BYTES),
        invited_by=act.by,
        expires_at=act.now + timedelta(days=INVITATION_DAYS),
    )
    jobs.enqueue(jobs.INVITATION, invitation.pk)
    act.holds(invitation)
    act.record(InviteData(name=invitation.name, role=invitation.role, invitation=invitation.pk))
    return invitation


def invitation_sent(invitation_id: int) -> None:
    """Note that an invitation's mail left. No ledger entry: it was offered before, a wait has become shorter."""
    Invitation.objects.filter(pk=invitation_id, sent_at=None).update(sent_at=moment())


def revoke_invitation(invitation_id: int, *, actor: Seat) -> None:
    """Take an unused invitation back; its link stops working at once."""
    with deed_on(Invitation, invitation_id, Deed.REVOKE_INVITATION, actor) as act:
        invitation = Invitation.objects.select_related("invited_by").get(pk=invitation_id)
        if not permits.is_same_side(Role(act.by.role), Role(invitation.invited_by.role)):
            raise Refused("not-yours")
        if invitation.used_at:
            raise Refused("invitation-used")
        invitation.revoked_at = act.now
        invitation.save(update_fields=["revoked_at"])
        act.holds(invitation)
        act.record(RevokeInvitationData(name=invitation.name, invitation=invitation.pk))


def take_seat(secret: str, *, person: Person | None = None, name: str = "", password: str | None = None) -> Seat:
    """Use an invitation: for the signed-in ``person``, or by making an account with a password.

    A guest of a cover meeting makes no account: no password is asked or set.
    """
    with transaction.atomic(durable=True):
        # The book first, as every deed does: who takes the invitation back at this moment waits, or is waited for.
        book = Book.objects.select_for_update().get(pk=open_invitation(secret).book_id)
        invitation = open_invitation(secret, lock=True)
        if person is None:
            person = _new_person(invitation, name, password)
        elif person.email != invitation.email:
            raise Refused("invitation-other-person")
        if Seat.objects.filter(book=book, person=person, ended_at=None).exists():
            raise Refused("already-seated", email=person.email)
        now = moment()
        invitation.used_at = now
        invitation.save(update_fields=["used_at"])
        seat = Seat.objects.create(
            book=book, person=person, role=invitation.role, passage_id=invitation.passage_id, since=now
        )
        act = Act(book, Deed.TAKE_SEAT, seat)
        act.holds(seat, invitation)
        act.record(TakeSeatData(role=seat.role, seat=seat.pk, invitation=invitation.pk))
    return seat


def open_invitation(secret: str, *, lock: bool = False) -> Invitation:
    """Find the invitation a secret opens, or refuse it with its reason."""
    rows = Invitation.objects.select_related("book", "invited_by__person")
    if lock:
        rows = Invitation.objects.select_for_update()
    number = secret.partition("-")[0]
    invitation = rows.filter(pk=int(number)).first() if number.isdecimal() and len(number) < 19 else None
    if invitation is None or not constant_time_compare(secret, invitation.secret):
        raise Refused("invitation-unknown")
    if invitation.revoked_at:
        raise Refused("invitation-revoked")
    if invitation.used_at:
        raise Refused("invitation-used")
    if invitation.expires_at <= moment():
        raise Refused("invitation-expired")
    if not _is_still_offered(invitation):
        raise Refused("invitation-overtaken")
    return invitation


def _is_still_offered(invitation: Invitation) -> bool:
    """Say whether its sender may still offer this part.

    What is offered across the table ends with the first who sits there: an invitation kept back would let the sender's
    own second address into the other side's seat.
    """
    offered = permits.may_offer(Role(invitation.invited_by.role), ever_held=ever_held(invitation.book_id))
    return Role(invitation.role) in offered


def end_seat(seat_id: int, *, actor: Seat) -> None:
    """End a seat of one's own side; what the person did stays in the ledger.

    They keep a way to what they made and what concerned them (``pages.farewell``), and are told of it at once.
    """
    with deed_on(Seat, seat_id, Deed.END_SEAT, actor) as act:
        seat = Seat.objects.select_related("person").get(pk=seat_id)
        if not permits.may_end(Role(act.by.role), Role(seat.role)):
            raise Refused("seat-other-side")
        if seat.ended_at:
            raise Refused("seat-ended")
        directors = Seat.objects.filter(book=act.book, role=Role.ART_DIRECTOR, ended_at=None)
        if seat.role == Role.ART_DIRECTOR and directors.count() == 1:
            raise Refused("last-art-director")
        seat.ended_at = act.now
        seat.save(update_fields=["ended_at"])
        # A draft left behind must not keep a successor from handing in.
        drafts = HandIn.objects.filter(by=seat, state=HandInState.DRAFT)
        act.holds(seat, *drafts)
        drafts.update(state=HandInState.LEFT)
        entry = act.record(EndSeatData(name=seat.person.name, role=seat.role, seat=seat.pk))
        if permits.keeps_a_farewell(Role(seat.role)):
            owe_farewell(entry, seat.person)


def let_agent_answer(seat_id: int, *, answers_dates: bool, actor: Seat) -> Seat:
    """Say whether the agent proposes and accepts dates for the illustrator, who alone decides it."""
    with deed_on(Seat, seat_id, Deed.LET_AGENT_ANSWER, actor) as act:
        seat = Seat.objects.select_related("person").get(pk=seat_id)
        if seat.role != Role.AGENT or seat.ended_at is not None:
            raise Refused("agent-only")
        if seat.answers_dates == answers_dates:
            raise Refused("agent-as-it-is")
        seat.answers_dates = answers_dates
        seat.save(update_fields=["answers_dates"])
        act.holds(seat)
        act.record(LetAgentAnswerData(name=seat.person.name, seat=seat.pk, answers_dates=answers_dates))
    return seat


def _checked_address(email: str) -> str:
    address = email.strip().lower()
    try:
        validate_email(address)
    except ValidationError as problem:
        raise Refused("bad-email") from problem
    return address


def _check_may_offer(role: Role, act: Act) -> None:
    held = ever_held(act.book.pk)
    if role in permits.may_offer(Role(act.by.role), ever_held=held):
        return
    if permits.is_same_side(Role(act.by.role), role):
        raise Refused("not-yours")
    if role == Role.AGENT:
        raise Refused("agent-is-theirs")
    if role == Role.ILLUSTRATOR and role in held:
        raise Refused("illustrator-is-theirs")
    raise Refused("invites-director-only")


def _guest_passage(role: Role, passage_id: int | None, act: Act) -> Passage | None:
    if role != Role.GUEST:
        return None
    passage = None
    if passage_id is not None:
        passage = Passage.objects.filter(pk=passage_id, book=act.book).first()
    if passage is None:
        raise Refused("guest-needs-passage")
    return passage


def _check_not_there(address: str, act: Act) -> None:
    if Seat.objects.filter(book=act.book, person__email=address, ended_at=None).exists():
        raise Refused("already-seated", email=address)
    waiting = Invitation.objects.filter(book=act.book, email=address, used_at=None, revoked_at=None)
    if waiting.filter(expires_at__gt=act.now).exists():
        raise Refused("already-invited", email=address)
    # An expired one makes room: the database keeps one open invitation per address and book.
    act.holds(*waiting)
    waiting.update(revoked_at=act.now)


def _new_person(invitation: Invitation, name: str, password: str | None) -> Person:
    existing = Person.objects.filter(email=invitation.email).first()
    if existing is not None:
        if existing.has_usable_password():
            raise Refused("email-taken")
        if invitation.role != Role.GUEST:
            # Once a guest, now a member: the mail that brought this link proves the address as it does for anybody new.
            existing.name = name.strip() or existing.name
            existing.set_password(password)
            existing.save(update_fields=["name", "password"])
        return existing
    return make_person(
        email=invitation.email,
        name=name.strip() or invitation.name,
        password=None if invitation.role == Role.GUEST else password,
    )


def make_person(*, email: str, name: str, password: str | None) -> Person:
    """Make an account; ``password`` None makes one that only a link can open."""
    person = Person(email=email.strip().lower(), name=name.strip(), joined_at=moment())
    if password is None:
        person.set_unusable_password()
    else:
        person.set_password(password)
    person.save(force_insert=True)
    return person


def make_first_account(*, email: str, name: str, password: str) -> Person:
    """Make the account of whoever sets the portal up; refused once anybody has one."""
    with transaction.atomic(durable=True):
        if Person.objects.exists():
            raise Refused("setup-done")
        person = make_person(email=_checked_address(email), name=name, password=password)
        # Whoever sets the portal up is told how it runs; `manage.py operator` names others.
        person.runs_portal = True
        person.save(update_fields=["runs_portal"])
        return person
