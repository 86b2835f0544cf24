"""What is looked at again and again beside the jobs: silence that counts, and the mail of the morning."""

from __future__ import annotations

import logging
from datetime import datetime

from reviews.tasks.reminders import remind
from reviews.tasks.silence import keep_silence

log = logging.getLogger(__name__)


def look_at_the_day(now: datetime) -> int:
    """Let silence count, then put due mails together; say how many mails. A fault in the first keeps no mail back."""
    try:
        keep_silence(now)
    except Exception:
        log.exception("Silence could not be looked at now; the mail goes on, and silence is looked at again.")
    return remind(now)
