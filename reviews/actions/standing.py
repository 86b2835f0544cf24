"""What the portal writes down about itself: which process was last seen, and whether the clock can be trusted."""

from __future__ import annotations

import logging
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from reviews.models import PortalFact

log = logging.getLogger(__name__)

CLOCK = "clock:"
# A clock that is kept right is moved by fractions of a second; nobody's letter hangs on five minutes.
JUMP_SECONDS = 300.0


def seen(name: str, **data: Any) -> None:
    """Note that a process is alive, or that something was done, now."""
    PortalFact.objects.update_or_create(name=name, defaults={"at": timezone.now(), "data": data})


def claim_day(name: str, day: str) -> bool:
    """Claim something that happens once a day; say whether this call is the one that does it."""
    with transaction.atomic():
        row, is_new = PortalFact.objects.select_for_update().get_or_create(
            name=name, defaults={"at": timezone.now(), "data": {"day": day}}
        )
        if not is_new and row.data.get("day") == day:
            return False
        row.at, row.data = timezone.now(), {"day": day}
        row.save(update_fields=["at", "data"])
    return True


def is_clock_sound(now: datetime, *, since_start: float, start: str) -> bool:
    """Hold the clock against the seconds counted since this machine started, which no setting of a clock moves.

    `start` names that start of the machine, `since_start` counts its seconds, sleep included. The difference of the two
    is the same for as long as the machine runs. Where it has changed by more than five minutes the clock was moved:
    nothing that only time decides is done until it is moved back, or until somebody says that it is right
    (`accept_clock`). What one machine found holds for all, and outlives its process.
    """
    offset = now.timestamp() - since_start
    row, _ = PortalFact.objects.get_or_create(name=CLOCK + start, defaults={"at": now, "data": {"offset": offset}})
    jump = offset - row.data["offset"]
    has_jumped = abs(jump) > JUMP_SECONDS
    if has_jumped and not row.data.get("jump"):
        log.warning("The clock of this machine jumped by %.0f s: silence and the morning's mail wait.", jump)
        _keep(row, now, {**row.data, "jump": round(jump)})
    elif not has_jumped and row.data.get("jump"):
        log.warning("The clock of this machine is where it was before; silence counts again.")
        _keep(row, now, {"offset": offset})
    elif not has_jumped and abs(jump) > 1:
        # A clock that is slowly put right is followed.
        _keep(row, now, {"offset": offset})
    return not any(one.data.get("jump") for one in PortalFact.objects.filter(name__startswith=CLOCK))


def accept_clock() -> int:
    """Take the clocks as they are now for right, as whoever runs the portal says; say how many had jumped."""
    jumped = [row.pk for row in PortalFact.objects.filter(name__startswith=CLOCK) if row.data.get("jump")]
    return PortalFact.objects.filter(pk__in=jumped).delete()[0]


def _keep(row: PortalFact, now: datetime, data: dict[str, Any]) -> None:
    PortalFact.objects.filter(pk=row.pk).update(at=now, data=data)
