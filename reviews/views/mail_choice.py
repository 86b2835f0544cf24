"""How much mail: on one's own page, or by the link at the end of each mail."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from reviews.actions.own_account import choose_mail
from reviews.forms.own_page import MailChoiceForm
from reviews.pages.wording.names import MAIL_WORDS
from reviews.queries.unsubscribe import person_of_stop_link
from reviews.rules.mailing import MailChoice
from reviews.views.own_page import shown
from reviews.views.signed_in import SignedInRequest


@require_POST
def mail_choice(request: SignedInRequest) -> HttpResponse:
    form = MailChoiceForm(request.POST)
    if not form.is_valid():
        return shown(request, mail_form=form)
    choose_mail(request.user, form.cleaned_data["mail"])
    messages.success(request, f"Mail about your books: {str(MAIL_WORDS[form.cleaned_data['mail']]).lower()}.")
    return redirect("reviews:own-page")


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def stop_mail(request: HttpRequest, secret: str) -> HttpResponse:
    """Looking changes nothing: mail programs open links by themselves. The button does."""
    person = person_of_stop_link(secret)
    is_done = False
    if request.method == "POST":
        daily = request.POST.get("mail") == MailChoice.DAILY
        choose_mail(person, MailChoice.DAILY if daily else MailChoice.NONE)
        is_done = True
    context = {"mail": person.mail, "is_done": is_done, "words": MAIL_WORDS[MailChoice(person.mail)]}
    return render(request, "reviews/people/stop_mail.html", context)
