"""A forgotten password: asking for a link, and using it."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from reviews.actions.passwords import ask_for_password_link, person_of_link, set_password_by_link
from reviews.forms.sign_in import AddressForm, NewPasswordForm
from reviews.pages.wording.refusals import sentence_for
from reviews.rules.states import Refused


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def forgotten_password(request: HttpRequest) -> HttpResponse:
    form = AddressForm(request.POST or None)
    asked_for = ""
    if request.method == "POST" and form.is_valid():
        asked_for = form.cleaned_data["email"]
        ask_for_password_link(asked_for)
    hours = settings.PASSWORD_RESET_TIMEOUT // 3600
    context = {"form": form, "asked_for": asked_for, "hours": hours}
    return render(request, "reviews/people/forgotten_password.html", context)


@login_not_required
@never_cache
@sensitive_post_parameters("password", "again")
@require_http_methods(["GET", "POST"])
def new_password(request: HttpRequest, secret: str) -> HttpResponse:
    try:
        person = person_of_link(secret)
        form = NewPasswordForm(request.POST or None, likeness=person)
        if request.method == "POST" and form.is_valid():
            set_password_by_link(secret, form.cleaned_data["password"])
            messages.success(request, "Your new password is set. Sign in with it.")
            return redirect("reviews:sign-in")
    except Refused as refused:
        context = {"sentence": sentence_for(refused)}
        return render(request, "reviews/people/new_password.html", context, status=410)
    return render(request, "reviews/people/new_password.html", {"form": form, "person": person})
