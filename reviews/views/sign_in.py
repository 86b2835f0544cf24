"""Signing in and out, and the first account of a new portal."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from reviews.actions.own_account import hear_zone
from reviews.actions.seats import make_first_account
from reviews.forms.sign_in import FirstAccountForm, SignInForm
from reviews.models import Person
from reviews.queries.people import asks_for_second_step, nobody_yet
from reviews.rules.attempts import Trying
from reviews.views.half_in import ask_for_code
from reviews.views.trying import attempt, came_from_address, recognise_again, resting, was_right, was_wrong

# Said to Django for people who came in without a password, by a link.
BACKEND = "django.contrib.auth.backends.ModelBackend"


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if nobody_yet():
        return redirect("reviews:first-account")
    if request.user.is_authenticated:
        return redirect(wanted(request))
    form = SignInForm(request, data=request.POST or None)
    if request.method == "POST":
        return _tried(request, form)
    return render(request, "reviews/people/sign_in.html", {"form": form, "next": _next(request)})


def _tried(request: HttpRequest, form: SignInForm) -> HttpResponse:
    email = request.POST.get("username", "")[:254]
    tried = attempt(request, Trying.SIGN_IN, email)
    if tried is None:
        return resting(request)
    if not form.is_valid():
        was_wrong(request, Trying.SIGN_IN, email)
        return render(request, "reviews/people/sign_in.html", {"form": form, "next": _next(request)})
    was_right(request, tried, email)
    person = form.get_user()
    if asks_for_second_step(person):
        return ask_for_code(request, person, wanted(request))
    let_in(request, person)
    return recognise_again(request, redirect(wanted(request)), email)


@login_not_required
@require_GET
def signed_in(request: HttpRequest) -> HttpResponse:
    """Tell the proxy in front whether somebody is signed in, before it takes a long body from them."""
    return HttpResponse(status=204 if request.user.is_authenticated else 401)


@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    messages.success(request, "You are signed out.")
    return redirect(_next(request) or resolve_url(settings.LOGOUT_REDIRECT_URL))


@login_not_required
@never_cache
@sensitive_post_parameters("password", "again")
@require_http_methods(["GET", "POST"])
def first_account(request: HttpRequest) -> HttpResponse:
    if not nobody_yet():
        return redirect("reviews:sign-in")
    form = FirstAccountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        person = make_first_account(email=data["email"], name=data["name"], password=data["password"])
        let_in(request, person)
        messages.success(request, f"Welcome, {person}. Your account is made.")
        return redirect(settings.LOGIN_REDIRECT_URL)
    return render(request, "reviews/people/first_account.html", {"form": form})


def let_in(request: HttpRequest, person: Person) -> None:
    """Sign a person in under a new session, so that no session known before it carries on."""
    hear_zone(person, request.POST.get("browser_zone", ""))
    login(request, person, backend=BACKEND)
    request.session["_began"] = {
        "at": timezone.now().isoformat(),
        "address": came_from_address(request)[:45],
        "browser": request.headers.get("User-Agent", "")[:200],
    }


def wanted(request: HttpRequest) -> str:
    """Name the page a person was on the way to, or their desk."""
    return _next(request) or resolve_url(settings.LOGIN_REDIRECT_URL)


def _next(request: HttpRequest) -> str:
    """Name the page asked for, if it is one of ours: anything else could lead a person to a false sign-in."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return asked if ours and asked.startswith("/") else ""
