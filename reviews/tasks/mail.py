"""Send mails: what a notice owes, invitations, links to a new password.

At least once: a worker that dies between handing a mail over and noting it will send it again, under
the same Message-ID, which mail readers show once. Never twice for one cause otherwise.
"""

from __future__ import annotations

from django.utils import timezone

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.notices import notice_sent
from reviews.actions.passwords import password_secret
from reviews.actions.seats import invitation_sent
from reviews.models import Invitation, Notice, Person
from reviews.notices.invitations import invitation_mail
from reviews.notices.mail import send
from reviews.notices.passwords import password_mail
from reviews.notices.wording import mail_for
from reviews.tasks.paper import paper_of
from reviews.tasks.registry import does


@does(jobs.MAIL)
def send_notice(claim: Claim) -> None:
    """Mail one notice to its person, unless that was done or the person may not read it any more."""
    notice = Notice.objects.select_related("entry__book", "entry__passage", "person").get(pk=claim.subject_id)
    if notice.sent_at is not None:
        return
    mail = mail_for(notice, paper_of)
    if mail is None:
        return
    send(mail)
    notice_sent(notice.pk, claim)


@does(jobs.INVITATION)
def send_invitation(claim: Claim) -> None:
    """Mail an invitation's link, unless it was used, taken back or ran out meanwhile."""
    invitation = Invitation.objects.select_related(
        "book", "passage__spread", "passage__stage", "invited_by__person"
    ).get(pk=claim.subject_id)
    is_open = invitation.used_at is None and invitation.revoked_at is None
    if is_open and invitation.expires_at > timezone.now():
        send(invitation_mail(invitation))
        invitation_sent(invitation.pk)


@does(jobs.PASSWORD_LINK)
def send_password_link(claim: Claim) -> None:
    """Mail the link to a new password, unless the account was closed meanwhile."""
    person = Person.objects.get(pk=claim.subject_id)
    if person.is_active and person.has_usable_password():
        send(password_mail(person, password_secret(person)))
