"""A person's own page: name, password, mail and calendar link."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.own_account import change_password, choose_zone, rename_person
from reviews.actions.sessions import end_sessions
from reviews.forms.browser_words import browser_named
from reviews.forms.own_page import MailChoiceForm, OwnNameForm, OwnPasswordForm, OwnZoneForm
from reviews.forms.where import known_zones
from reviews.pages.calendar_feed import live_link
from reviews.queries.people import asks_for_second_step, sessions_of
from reviews.rules.attempts import Trying
from reviews.rules.contract.calendars import zone_name
from reviews.views.signed_in import SignedInRequest
from reviews.views.trying import attempt, resting, was_right, was_wrong


@require_GET
@never_cache
def own_page(request: SignedInRequest) -> HttpResponse:
    return shown(request)


@require_POST
def own_name(request: SignedInRequest) -> HttpResponse:
    form = OwnNameForm(request.POST)
    if not form.is_valid():
        return shown(request, name_form=form)
    rename_person(request.user, form.cleaned_data["name"])
    messages.success(request, f"From now on the others read “{request.user}”.")
    return redirect("reviews:own-page")


@require_POST
def own_zone(request: SignedInRequest) -> HttpResponse:
    form = OwnZoneForm(request.POST)
    if not form.is_valid():
        return shown(request, zone_form=form)
    choose_zone(request.user, form.cleaned_data["zone"])
    zone = request.user.zone
    told = (
        f"Times are told by the clock of {zone_name(zone)}." if zone else "Times are told where each book is counted."
    )
    messages.success(request, told)
    return redirect("reviews:own-page")


@require_POST
@sensitive_post_parameters("now", "password", "again")
def own_password(request: SignedInRequest) -> HttpResponse:
    form = OwnPasswordForm(request.user, request.POST)
    tried = attempt(request, Trying.PASSWORD, request.user.email)
    if tried is None:
        return resting(request)
    if not form.is_valid():
        if "now" in form.errors:
            was_wrong(request, Trying.PASSWORD, request.user.email)
        else:
            was_right(request, tried, request.user.email)
        return shown(request, password_form=form)
    was_right(request, tried, request.user.email)
    change_password(request.user, form.cleaned_data["password"])
    update_session_auth_hash(request, request.user)
    end_sessions(request.user, but=request.session.session_key)
    messages.success(request, "Your password is changed. Wherever else you were signed in, it is asked for.")
    return redirect("reviews:own-page")


def shown(request: SignedInRequest, **forms: Form) -> HttpResponse:
    """Show the page, with a form that was not accepted in its place."""
    person = request.user
    link = live_link(person)
    address = reverse("reviews:calendar-feed", args=[link.secret]) if link else ""
    context = {
        "name_form": OwnNameForm(initial={"name": person.name}),
        "zone_form": OwnZoneForm(initial={"zone": person.zone}),
        "zones": known_zones(),
        "mail_form": MailChoiceForm(initial={"mail": person.mail}),
        # Somebody who came by a link alone has no password to change.
        "password_form": OwnPasswordForm(person) if person.has_usable_password() else None,
        "places": [
            (row, browser_named(row.browser), row.session_key == request.session.session_key)
            for row in sessions_of(person)
        ],
        "second_step": asks_for_second_step(person),
        "calendar": link,
        "calendar_address": request.build_absolute_uri(address) if link else "",
        "crumbs": [{"label": "Your own page", "url": ""}],
        **forms,
    }
    return render(request, "reviews/people/own_page.html", context, status=422 if forms else 200)
