"""The seats of a book: who has one, to whom one is offered."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import invitees, reading
from reviews.actions import seats as deeds
from reviews.forms.invitees import InviteesForm, as_parts
from reviews.forms.reading import AskForm
from reviews.forms.seats import InviteForm
from reviews.models import Book, Seat
from reviews.pages.wording.names import role_words
from reviews.pages.wording.part_table import part_heads, part_rows
from reviews.pages.wording.reading import answered_words
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book, is_publisher_side
from reviews.queries.reading import asks_of, get_ask, readers_among, readers_of, spreads_of
from reviews.queries.seats import SeatsPage, ever_held, get_invitation, get_seat, guest_passages, seats_of
from reviews.rules import permits
from reviews.rules.states import Deed, Refused, Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def seats(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="seats")
    return render(request, "reviews/seats/seats.html", _page(book, seat))


@require_POST
def invite(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.INVITE)
    form = _form(book, _offered(book, seat), request.POST)
    if form is None:
        raise Refused("invites-director-only")
    if form.is_valid():
        try:
            return _invited(request, form, seat)
        except Refused as refused:
            form.add_error(None, sentence_for(refused))
    return render(request, "reviews/seats/seats.html", _page(book, seat, form=form), status=422)


@require_POST
def invite_several(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.INVITE)
    form = _people_form(_offered(book, seat), request.POST)
    if form is None:
        raise Refused("invites-director-only")
    if form.is_valid():
        people = form.invitees()
        if people and not form.wrong:
            try:
                invitees.invite_several(book.pk, people, actor=seat)
            except invitees.SomeRefused as some:
                form.refuse({n: sentence_for(why) for n, why in some.why.items()})
            else:
                messages.success(request, f"Invited: {as_parts(people)}; {_where_mails_go()}.")
                return redirect("reviews:seats", book.pk)
    return render(request, "reviews/seats/seats.html", _page(book, seat, people_form=form), status=422)


def _invited(request: HttpRequest, form: InviteForm, seat: Seat) -> HttpResponse:
    data = form.cleaned_data
    made = deeds.invite(
        seat.book_id,
        email=data["email"],
        name=data["name"],
        role=data["role"],
        passage_id=form.passage_id,
        actor=seat,
    )
    # The link travels by mail alone: whoever invites must not be able to take the seat in the other's name.
    messages.success(request, f"{made.name} is invited as {role_words(made.role)}; {_where_mails_go()}.")
    return redirect("reviews:seats", seat.book_id)


def _where_mails_go() -> str:
    if settings.HOUSE:
        return "the mail goes out as soon as it can"
    return "the mail will lie in the folder “mail” of this portal’s data"


@require_POST
def revoke_invitation(request: SignedInRequest, invitation_id: int) -> HttpResponse:
    invitation, seat = get_invitation(request.user, invitation_id, deed=Deed.REVOKE_INVITATION)
    deeds.revoke_invitation(invitation.pk, actor=seat)
    messages.success(request, f"The invitation of {invitation.name} is revoked; its link no longer works.")
    return redirect("reviews:seats", invitation.book_id)


@require_POST
def end_seat(request: SignedInRequest, seat_id: int) -> HttpResponse:
    other, seat = get_seat(request.user, seat_id, deed=Deed.END_SEAT)
    deeds.end_seat(other.pk, actor=seat)
    messages.success(request, f"The seat of {other.person} is ended. What was done from it stays in the ledger.")
    return redirect("reviews:desk") if other.pk == seat.pk else redirect("reviews:seats", other.book_id)


@require_POST
def let_agent_answer(request: SignedInRequest, seat_id: int) -> HttpResponse:
    other, seat = get_seat(request.user, seat_id, deed=Deed.LET_AGENT_ANSWER)
    said = request.POST.get("answers_dates") == "on"
    deeds.let_agent_answer(other.pk, answers_dates=said, actor=seat)
    may = "proposes and accepts dates and pauses for you" if said else "no longer proposes and accepts them for you"
    messages.success(request, f"{other.person} {may}. Both sides are being told.")
    return redirect("reviews:seats", other.book_id)


@require_POST
def ask_to_read(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.ASK_TO_READ)
    form = AskForm(request.POST, readers=readers_of(book), spreads=spreads_of(book))
    if form.is_valid():
        data = form.cleaned_data
        try:
            made = reading.ask_to_read(book.pk, data["reader"], data["spreads"], data["words"], actor=seat)
        except Refused as refused:
            form.add_error(None, sentence_for(refused))
        else:
            where = ", ".join(ask.spread.label for ask in made)
            messages.success(request, f"{made[0].seat.person} is asked about {where}; it is on their desk.")
            return redirect("reviews:seats", book.pk)
    return render(request, "reviews/seats/seats.html", _page(book, seat, ask_form=form), status=422)


@require_POST
def stop_asking(request: SignedInRequest, ask_id: int) -> HttpResponse:
    ask, seat = get_ask(request.user, ask_id, deed=Deed.STOP_ASKING)
    reading.stop_asking(ask.pk, actor=seat)
    messages.success(request, f"{ask.seat.person} is no longer asked about {ask.spread.label}. Their notes stay.")
    return redirect("reviews:seats", ask.book_id)


def _asking(book: Book, seat: Seat, live: Sequence[Seat], form: AskForm | None) -> dict:
    """Gather who is asked what, for the publisher's house; nothing for the other side (2 queries where readers sit)."""
    if not is_publisher_side(seat):
        return {}
    readers = readers_among(live)
    may_ask = permits.may(Role(seat.role), Deed.ASK_TO_READ)
    return {
        "asks": [(one.ask, answered_words(one.n_notes, one.looked_at)) for one in asks_of(book)] if readers else [],
        "readers": readers,
        "may_ask": may_ask,
        "ask_form": form or (AskForm(readers=readers, spreads=spreads_of(book)) if may_ask and readers else None),
    }


def _form(book: Book, roles: Collection[Role], data: QueryDict | None = None) -> InviteForm | None:
    """Offer what a seat may offer; None where it may invite nobody now."""
    return InviteForm(data, passages=guest_passages(book), roles=roles) if roles else None


def _people_form(roles: Collection[Role], data: QueryDict | None = None) -> InviteesForm | None:
    return InviteesForm(data, roles=roles) if roles else None


def _offered(book: Book, seat: Seat) -> Collection[Role]:
    return permits.may_offer(Role(seat.role), ever_held=ever_held(book.pk))


def _marked(page: SeatsPage, role: Role) -> SeatsPage:
    """Say of each seat and invitation what whoever looks may do with it."""
    for held in page.live:
        held.may_be_ended = permits.may_end(role, Role(held.role))
        held.keeps_a_farewell = permits.keeps_a_farewell(Role(held.role))
    for offered in page.invitations:
        own = permits.is_same_side(role, Role(offered.invited_by.role))
        offered.may_be_revoked = own and permits.may(role, Deed.REVOKE_INVITATION)
        offered.shows_address = own and permits.sees(role, "seat-addresses")
    return page


def _page(book: Book, seat: Seat, *, ask_form: AskForm | None = None, **filled: InviteForm | InviteesForm) -> dict:
    """Gather the page; ``filled``: a form (``form``, ``people_form``) that was refused, in place of an empty one."""
    role, roles = Role(seat.role), _offered(book, seat)
    page = _marked(seats_of(book), role)
    return {
        **_asking(book, seat, page.live, ask_form),
        "part_heads": part_heads(),
        "part_rows": part_rows(),
        "book": book,
        "seat": seat,
        "page": page,
        "form": _form(book, roles),
        "people_form": _people_form(roles),
        "may_let_answer": permits.may(role, Deed.LET_AGENT_ANSWER),
        "may_end": permits.may(role, Deed.END_SEAT),
        "is_publisher": is_publisher_side(seat),
        "lacks_illustrator": not any(row.role == Role.ILLUSTRATOR for row in page.live),
        "shows_addresses": permits.sees(role, "seat-addresses"),
        "crumbs": crumbs(book, ("Seats", "")),
        **filled,
    }
