"""An invitation's link: what it offers, and taking the seat."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from reviews.actions.seats import open_invitation, take_seat
from reviews.forms.sign_in import AccountForm, NameForm
from reviews.models import Invitation
from reviews.pages.wording.names import role_words
from reviews.pages.wording.part_table import part_lines
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.people import has_account
from reviews.queries.votes import open_vote_on
from reviews.rules.permits import sees
from reviews.rules.states import Refused, Role
from reviews.views.sign_in import let_in


@login_not_required
@never_cache
@sensitive_post_parameters("password", "again")
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    try:
        offered = open_invitation(secret)
        way = _way_in(request, offered)
        form = _form(request, offered, way)
        if request.method == "POST" and way in _TAKES and (form is None or form.is_valid()):
            return _take(request, offered, form)
    except Refused as refused:
        # Nobody may be signed in here, so the refusal has a page of its own that leads somewhere.
        status = 404 if refused.code == "invitation-unknown" else 410
        return render(request, "reviews/people/no_invitation.html", {"sentence": sentence_for(refused)}, status=status)
    context = {"invitation": offered, "way": way, "form": form, "lines": part_lines(offered.role)}
    return render(request, "reviews/people/invitation.html", context)


_TAKES = frozenset({"one-button", "name", "account"})


def _way_in(request: HttpRequest, offered: Invitation) -> str:
    """Say what this visitor has to do to take the seat."""
    if request.user.is_authenticated:
        return "one-button" if request.user.email == offered.email else "other-person"
    if has_account(offered.email):
        return "sign-in"
    return "name" if offered.role == Role.GUEST else "account"


def _form(request: HttpRequest, offered: Invitation, way: str) -> Form | None:
    first = {"name": offered.name if offered.name != offered.email else ""}
    if way == "name":
        return NameForm(request.POST or None, initial=first)
    if way == "account":
        return AccountForm(request.POST or None, initial=first, email=offered.email)
    return None


def _take(request: HttpRequest, offered: Invitation, form: Form | None) -> HttpResponse:
    data = form.cleaned_data if form else {}
    person = request.user if request.user.is_authenticated else None
    seat = take_seat(offered.secret, person=person, name=data.get("name", ""), password=data.get("password"))
    if person is None:
        let_in(request, seat.person)
    if seat.role == Role.GUEST:
        if person is None:
            # No password leads back in, so the visit ends when the invitation would have.
            request.session.set_expiry(offered.expires_at)
        messages.success(request, f"Welcome to the cover meeting of {offered.book}.")
        vote = open_vote_on(seat.passage_id) if seat.passage_id else None
        return redirect("reviews:vote", vote.pk) if vote else redirect("reviews:passage", seat.passage_id)
    messages.success(request, f"You have your seat on {offered.book} as {role_words(seat.role)}.")
    return redirect("reviews:book-map", seat.book_id) if sees(Role(seat.role), "book") else redirect("reviews:desk")
