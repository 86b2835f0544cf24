"""One line a day, by mail, to whoever runs the portal: only when something is wrong."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.standing import claim_day
from reviews.jobs import enqueue
from reviews.models import Person
from reviews.notices.mail import send
from reviews.notices.running import operator_mail
from reviews.queries.running import operators, running_now
from reviews.rules.mailing import MORNING_HOUR
from reviews.tasks.registry import does

TOLD = "operators-told"


def tell_operators(now: datetime) -> int:
    """Ask for the day's mail where something is wrong this morning; say how many mails that makes."""
    here = timezone.localtime(now)
    people = operators()
    if here.hour < MORNING_HOUR or not people or not running_now(now).needs_somebody:
        return 0
    day = here.date().isoformat()
    if not claim_day(TOLD, day):
        return 0
    for person in people:
        enqueue(jobs.OPERATOR_MAIL, person.pk, key=f"{jobs.OPERATOR_MAIL}:{person.pk}:{day}")
    return len(people)


@does(jobs.OPERATOR_MAIL)
def send_operator_mail(claim: Claim) -> None:
    """Mail what is wrong by now to one person, unless all is well again or they run the portal no more."""
    person = Person.objects.get(pk=claim.subject_id)
    if not (person.runs_portal and person.is_active):
        return
    mail = operator_mail(person, claim.key.rsplit(":", 1)[-1], running_now(timezone.now()))
    if mail is not None:
        send(mail)
