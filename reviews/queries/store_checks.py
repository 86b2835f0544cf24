"""What the last looks at the stored pictures found, for whoever runs the portal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from reviews.models import StoreCheck
from reviews.models.store_checks import N_SHARDS


@dataclass(frozen=True)
class StoreState:
    """How far the stored pictures are known to be whole.

    ``last`` is the newest finished check. ``all_seen_since``: every shard was looked at since then, or None where
    some never was. ``faults`` are those of the newest check of each shard that still has some; they are what was found
    then, not what is there now.
    """

    last: StoreCheck | None
    n_shards_seen: int
    all_seen_since: datetime | None
    n_faults: int
    faults: list[dict[str, Any]]

    @property
    def last_at(self) -> datetime | None:
        """Say when the newest finished check ended."""
        return self.last.finished_at if self.last else None


def latest_store_check() -> StoreState:
    """Tell what is known of the stored pictures from the checks that were finished (1 query)."""
    newest_of: dict[int, StoreCheck] = {}
    last = None
    for check in StoreCheck.objects.filter(finished_at__isnull=False).order_by("-finished_at", "-pk")[: 2 * N_SHARDS]:
        last = last or check
        for shard in range(check.first_shard, check.end_shard or 0):
            newest_of.setdefault(shard, check)
        if len(newest_of) == N_SHARDS:
            break
    counted = {check.pk: check for check in newest_of.values()}
    named = [(check, fault) for check in counted.values() for fault in check.faults if not fault["repaired"]]
    # A shard that was looked at again since tells its own story; what was only counted is held to be there still.
    current = [fault for check, fault in named if newest_of[fault["shard"]].pk == check.pk]
    n_open = sum(check.n_faults - check.n_repaired - check.n_removed for check in counted.values())
    return StoreState(
        last=last,
        n_shards_seen=len(newest_of),
        all_seen_since=min(check.begun_at for check in counted.values()) if len(newest_of) == N_SHARDS else None,
        n_faults=n_open - len(named) + len(current),
        faults=current,
    )


def next_shard() -> int:
    """Say where the next night's share begins: after the last one that was finished (1 query)."""
    nightly = StoreCheck.objects.filter(finished_at__isnull=False, night__isnull=False)
    last = nightly.order_by("-night").values_list("end_shard", flat=True).first()
    return (last or 0) % N_SHARDS
