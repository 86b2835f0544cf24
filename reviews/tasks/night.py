"""What is asked for once a night beside the jobs. Loads no pixels: the house's sweep is a small process."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from reviews.actions.store_checks import begin_night
from reviews.models import StoreCheck

FIRST_HOUR = 2


def look_at_the_night(now: datetime) -> bool:
    """Ask for the night's share of looking, once a day after two in the morning (1 query); say whether it was new.

    A machine that is off at night looks when it is on next.
    """
    local = timezone.localtime(now)
    if local.hour < FIRST_HOUR or StoreCheck.objects.filter(night=local.date()).exists():
        return False
    return begin_night(local.date(), now)
