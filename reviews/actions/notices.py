"""Mark a notice as sent. The mail went out; nothing else about the book changes, so no ledger entry is owed."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from reviews.actions.jobs import Claim, settle_job
from reviews.models import Notice


def notice_sent(notice_id: int, claim: Claim) -> None:
    """Note that a notice was mailed, and end its job in the same step, so that it is not mailed again."""
    with transaction.atomic():
        Notice.objects.filter(pk=notice_id, sent_at=None).update(sent_at=timezone.now())
        settle_job(claim)
