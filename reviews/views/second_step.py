"""The second step at signing in: asking for its code, and setting it up on one's own page."""

from __future__ import annotations

from collections.abc import Callable

import pyotp
import segno
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from reviews.actions import second_step as steps
from reviews.forms.second_step import CodeForm, NowForm
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.people import second_step_of, unused_recovery_codes
from reviews.rules.attempts import Trying
from reviews.rules.states import Refused
from reviews.views.half_in import half_in, wholly_in
from reviews.views.sign_in import let_in
from reviews.views.signed_in import SignedInRequest
from reviews.views.trying import attempt, recognise_again, resting, was_right, was_wrong

WRONG = "That code is not right. Type the one that your telephone shows now, or a recovery code not used yet."


@login_not_required
@never_cache
@sensitive_post_parameters("code")
@require_http_methods(["GET", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    person = half_in(request)
    if person is None:
        messages.info(request, "The time to type the code is over. Begin again with your password.")
        return redirect("reviews:sign-in")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        tried = attempt(request, Trying.CODE, person.email)
        if tried is None:
            return resting(request)
        if steps.take_second_step(person, form.cleaned_data["code"]):
            was_right(request, tried, person.email)
            asked_for = wholly_in(request)
            let_in(request, person)
            return recognise_again(request, redirect(asked_for), person.email)
        was_wrong(request, Trying.CODE, person.email)
        form.add_error("code", WRONG)
    return render(request, "reviews/people/sign_in_code.html", {"form": form})


@require_GET
@never_cache
def second_step(request: SignedInRequest) -> HttpResponse:
    return shown(request)


@require_POST
@sensitive_post_parameters("now")
def begin_second_step(request: SignedInRequest) -> HttpResponse:
    form, refused = _password_first(request)
    if refused or not form.is_valid():
        return refused or shown(request, begin_form=form)
    return _then(request, lambda: steps.begin_second_step(request.user))


@require_POST
def confirm_second_step(request: SignedInRequest) -> HttpResponse:
    form = CodeForm(request.POST)
    if not form.is_valid():
        return shown(request, code_form=form)
    tried = attempt(request, Trying.CODE, request.user.email)
    if tried is None:
        return resting(request)
    try:
        codes = steps.confirm_second_step(request.user, form.cleaned_data["code"])
    except Refused as refused:
        was_wrong(request, Trying.CODE, request.user.email)
        form.add_error("code", sentence_for(refused))
        return shown(request, code_form=form)
    was_right(request, tried, request.user.email)
    return shown(request, codes=codes)


@require_POST
@sensitive_post_parameters("now")
def new_recovery_codes(request: SignedInRequest) -> HttpResponse:
    form, refused = _password_first(request)
    if refused or not form.is_valid():
        return refused or shown(request, codes_form=form)
    return shown(request, codes=steps.new_recovery_codes(request.user))


@require_POST
@sensitive_post_parameters("now")
def drop_second_step(request: SignedInRequest) -> HttpResponse:
    form, refused = _password_first(request)
    if refused or not form.is_valid():
        return refused or shown(request, drop_form=form)
    messages.success(request, "The second step is off: your password alone signs you in.")
    return _then(request, lambda: steps.drop_second_step(request.user))


def _then(request: HttpRequest, do: Callable[[], object]) -> HttpResponse:
    do()
    return redirect("reviews:second-step")


def _password_first(request: SignedInRequest) -> tuple[NowForm, HttpResponse | None]:
    """Ask for the password, so that a screen left open is not enough; and rest after too many wrong ones."""
    form = NowForm(request.user, request.POST)
    tried = attempt(request, Trying.PASSWORD, request.user.email)
    if tried is None:
        return form, resting(request)
    if form.is_valid():
        was_right(request, tried, request.user.email)
    else:
        was_wrong(request, Trying.PASSWORD, request.user.email)
    return form, None


def shown(request: SignedInRequest, *, codes: list[str] | None = None, **forms: Form) -> HttpResponse:
    """Show the page, with a form that was not accepted in its place, or new codes this once."""
    person = request.user
    step = second_step_of(person)
    begun = step if step and not step.confirmed_at else None
    uri = pyotp.TOTP(begun.secret).provisioning_uri(name=person.email, issuer_name="Roughproof") if begun else ""
    context = {
        "step": step,
        "begun": begun,
        "secret": " ".join(begun.secret[i : i + 4] for i in range(0, 32, 4)) if begun else "",
        "picture": segno.make(uri, error="m").svg_data_uri(scale=5, border=2, light="#ffffff") if begun else "",
        "codes": codes,
        "n_left": unused_recovery_codes(person),
        "has_password": person.has_usable_password(),
        "begin_form": NowForm(person),
        "code_form": CodeForm(),
        "codes_form": NowForm(person),
        "drop_form": NowForm(person),
        "crumbs": [{"label": "Your own page", "url": "/you/"}, {"label": "Second step", "url": ""}],
        **forms,
    }
    return render(request, "reviews/people/second_step.html", context, status=422 if forms else 200)
