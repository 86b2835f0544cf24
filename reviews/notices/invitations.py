"""The mail that carries an invitation's link."""

from __future__ import annotations

from reviews.models import Invitation
from reviews.notices.mail import Mail, link, message_id, written
from reviews.pages.wording.part_table import part_lines
from reviews.rules.states import Role


def invitation_mail(invitation: Invitation) -> Mail:
    """Write the mail of one invitation; needs book, passage's place and the inviter joined."""
    book, inviter = invitation.book, invitation.invited_by.person.name
    context = {
        "invitation": invitation,
        "book": book,
        "inviter": inviter,
        "address": link("invitation", invitation.secret),
        "is_guest": invitation.role == Role.GUEST,
        "lines": part_lines(invitation.role),
        "until": book.day_rule.local_date(invitation.expires_at),
    }
    text, html = written("invitation", context)
    subject = f"{inviter} invites you to “{book.title}”"
    return Mail(
        to=invitation.email,
        subject=subject,
        text=text,
        html=html,
        message_id=message_id(f"invitation-{invitation.pk}-{invitation.seed[:16]}"),
    )
