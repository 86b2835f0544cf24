"""What is looked at again and again beside the jobs: silence that counts, and the mail of the morning."""

from __future__ import annotations

import logging
import time
from datetime import datetime
from pathlib import Path

from django.utils import timezone

from reviews.actions.presses import forget_old_presses
from reviews.actions.print_checks import ask_where_nobody_asked
from reviews.actions.proof_sheets import ask_for_sheets_nobody_looked_at
from reviews.actions.standing import claim_day, is_clock_sound, seen
from reviews.tasks.night import look_at_the_night
from reviews.tasks.operators import tell_operators
from reviews.tasks.reminders import remind
from reviews.tasks.silence import keep_silence

log = logging.getLogger(__name__)

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


def look_around(process: str) -> int:
    """Do all that time alone brings about; say how many mails that makes. Called every half minute by every loop."""
    now = timezone.now()
    seen(process)
    look_at_the_night(now)
    n_mails = look_at_the_day(now) if clock_holds(now) else 0
    tell_operators(now)
    if claim_day("presses-forgotten", now.date().isoformat()):
        forget_old_presses()
    if claim_day("inks-asked", now.date().isoformat()):
        ask_where_nobody_asked()
    if claim_day("sheets-asked", now.date().isoformat()):
        ask_for_sheets_nobody_looked_at()
    return n_mails


def look_at_the_day(now: datetime) -> int:
    """Let silence count, then put due mails together; say how many mails. A fault in the first keeps no mail back."""
    try:
        keep_silence(now)
    except Exception:
        log.exception("Silence could not be looked at now; the mail goes on, and silence is looked at again.")
    return remind(now)


def clock_holds(now: datetime) -> bool:
    """Say whether the clock can be trusted with what only time decides."""
    return is_clock_sound(now, since_start=seconds_since_start(), start=_start())


def seconds_since_start() -> float:
    """Count the seconds since this machine started: no setting of its clock moves them, and sleep counts."""
    return time.clock_gettime(getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC))


def _start() -> str:
    try:
        return BOOT_ID.read_text(encoding="ascii").strip()
    except OSError:
        return "this-machine"
