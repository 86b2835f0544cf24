"""Let silence count where the terms say so: looked at whenever the mail of the morning is.

The embedded worker's loop, a worker that ends when idle, and the house's sweep all call it; any number of them may do
so at once, since each deed is judged again under the book's lock.
"""

from __future__ import annotations

import logging
from datetime import datetime

from reviews.actions.silence import announce_silence, approve_by_silence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.silence import silences_now
from reviews.rules.states import Deed, Refused

log = logging.getLogger(__name__)


def keep_silence(now: datetime) -> int:
    """Warn of silence and let it approve; say how many entries that made (usually 1 query and none)."""
    n_done = 0
    for due in silences_now(now):
        act = approve_by_silence if due.deed == Deed.APPROVE_BY_SILENCE else announce_silence
        try:
            act(due.passage)
        except Refused as refused:
            log.info("Silence changed nothing at passage %s: %s", due.passage, sentence_for(refused))
        else:
            n_done += 1
    return n_done
