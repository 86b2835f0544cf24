"""How this portal runs: what waits, what was given up, what is nearly full. For whoever runs it."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import Count, QuerySet

from reviews.models import Job, Person, PortalFact
from reviews.models.jobs import MAIL_KINDS, JobState
from reviews.queries.store_checks import StoreState, latest_store_check

LONG_WAIT = timedelta(minutes=15)
# A worker or sweep says every half minute that it is there.
UNSEEN_AFTER = timedelta(minutes=5)
# The stored pictures are looked at each night; a look older than this says little of today.
LOOK_OLD_AFTER = timedelta(days=3)
LITTLE_ROOM_BYTES = 2 * 1024**3
LITTLE_ROOM_SHARE = 0.05
MOST_LISTED = 50


@dataclass(frozen=True)
class Room:
    """The room of one folder's disk."""

    folder: str
    free: int
    total: int

    @property
    def is_little(self) -> bool:
        return self.free < min(LITTLE_ROOM_BYTES, self.total * LITTLE_ROOM_SHARE)

    @property
    def percent_free(self) -> int:
        return 100 * self.free // self.total if self.total else 0


@dataclass(frozen=True, kw_only=True)
class Running:
    """Everything the operator's page shows, and the daily line is made of."""

    n_waiting: int
    n_running: int
    oldest_minutes: int | None
    stuck: list[Job]
    given_up: list[Job]
    n_given_up: int
    n_mails_failing: int
    # What the last of them keeps of its fault, a code with its values; {} where none fails.
    mail_error: dict[str, Any]
    rooms: list[Room]
    unseen: list[str]
    seen: list[PortalFact]
    clock_jumps: list[int]
    # What the nightly looks at the stored pictures found, and whether one ended lately.
    store: StoreState
    is_store_looked_at: bool

    @property
    def needs_somebody(self) -> bool:
        """Say whether anything was found that needs somebody."""
        troubles = (self.stuck, self.n_given_up, self.n_mails_failing, self.unseen, self.clock_jumps)
        return any(troubles) or bool(self.store.n_faults) or any(room.is_little for room in self.rooms)

    @property
    def is_well(self) -> bool:
        """Say whether nothing was found that needs somebody, and the stored pictures were looked at lately too."""
        return not self.needs_somebody and self.is_store_looked_at


def operators() -> list[Person]:
    """List who runs this portal and can be written to (1 query)."""
    return list(Person.objects.filter(runs_portal=True, is_active=True).order_by("pk"))


def running_now(now: datetime) -> Running:
    """Look at everything at once (about 9 queries)."""
    counts = dict(Job.objects.values_list("state").annotate(n=Count("pk")))
    waiting = Job.objects.filter(state=JobState.QUEUED)
    ready = waiting & Job.objects.ready(now)
    oldest = ready.order_by("created_at").first()
    failing = Job.objects.filter(kind__in=MAIL_KINDS).exclude(error={}).exclude(state=JobState.DONE)
    last = failing.order_by("-pk").first()
    standings = list(PortalFact.objects.order_by("name"))
    store = latest_store_check()
    return Running(
        n_waiting=counts.get(JobState.QUEUED, 0),
        n_running=counts.get(JobState.RUNNING, 0),
        oldest_minutes=int((now - oldest.created_at).total_seconds() // 60) if oldest else None,
        stuck=list(_stuck(now)[:MOST_LISTED]),
        given_up=list(Job.objects.filter(state=JobState.FAILED).order_by("-pk")[:MOST_LISTED]),
        n_given_up=counts.get(JobState.FAILED, 0),
        n_mails_failing=failing.count(),
        mail_error=last.error if last else {},
        rooms=_rooms(),
        unseen=_unseen(standings, now),
        seen=[row for row in standings if row.name.startswith(_PROCESSES)],
        clock_jumps=[row.data["jump"] for row in standings if row.name.startswith("clock:") and row.data.get("jump")],
        store=store,
        is_store_looked_at=store.last_at is not None and store.last_at > now - LOOK_OLD_AFTER,
    )


def was_seen(name: str, now: datetime) -> bool:
    """Say whether a process said lately that it is there (1 query)."""
    return PortalFact.objects.filter(name=name, at__gt=now - UNSEEN_AFTER).exists()


def _stuck(now: datetime) -> QuerySet[Job]:
    """Find work that waits for a quarter of an hour and more, or is tried again and again."""
    waits = Job.objects.filter(state=JobState.QUEUED, run_after=None, created_at__lt=now - LONG_WAIT)
    hindered = Job.objects.filter(state=JobState.QUEUED, attempts__gte=4).exclude(error={})
    return (waits | hindered).order_by("created_at", "pk")


_PROCESSES = ("worker", "sweep")


def _unseen(standings: list[PortalFact], now: datetime) -> list[str]:
    """Name the processes that must run and were not seen for a while."""
    wanted = ("sweep",) if settings.HOUSE else ("worker",)
    alive = {row.name for row in standings if row.at > now - UNSEEN_AFTER}
    return [name for name in wanted if name not in alive]


def _rooms() -> list[Room]:
    folders = {str(tempfile.gettempdir())} if settings.HOUSE else {str(settings.DATA_DIR), tempfile.gettempdir()}
    rooms = []
    for folder in sorted(folders):
        if Path(folder).is_dir():
            usage = shutil.disk_usage(folder)
            rooms.append(Room(folder, usage.free, usage.total))
    return rooms
