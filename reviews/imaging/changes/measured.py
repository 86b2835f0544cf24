"""What the comparison notices and misses, counted on made drawings that nothing was tuned on.

`python -m tests.bench.changes --fresh N` draws new ones each time, counts, and prints these rows as they stand here.
Whatever is said to a person is the end of the exact 95 % interval that flatters the method least.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviews.imaging.changes.findings import Media, Remark
from reviews.imaging.changes.sureness import exact_interval

SURE = 0.9  # nine times in ten
_LEAST_COUNTED = 10
SIZES_MM = (0, 20, 30, 45, 70)  # longest visible side of what was edited, from each to the next


@dataclass(frozen=True, kw_only=True)
class Seen:
    """Of so many edits from this size on, below the next, so many were noticed."""

    media: Media
    from_mm: int
    n: int
    n_noticed: int


@dataclass(frozen=True, kw_only=True)
class Signs:
    """What was said of places under notes that changed, and of places that did not."""

    media: Media
    n_changed: int
    changed_as_changed: int
    changed_as_unchanged: int
    n_unchanged: int
    unchanged_as_changed: int


N_PAIRS, FIRST_SEED = 220, 914000000
SEEN: tuple[Seen, ...] = (
    Seen(media="drawn", from_mm=0, n=34, n_noticed=31),
    Seen(media="drawn", from_mm=20, n=52, n_noticed=52),
    Seen(media="drawn", from_mm=30, n=53, n_noticed=53),
    Seen(media="drawn", from_mm=45, n=67, n_noticed=67),
    Seen(media="drawn", from_mm=70, n=71, n_noticed=71),
    Seen(media="one-painted", from_mm=0, n=23, n_noticed=20),
    Seen(media="one-painted", from_mm=20, n=31, n_noticed=31),
    Seen(media="one-painted", from_mm=30, n=36, n_noticed=36),
    Seen(media="one-painted", from_mm=45, n=28, n_noticed=28),
    Seen(media="one-painted", from_mm=70, n=37, n_noticed=36),
    Seen(media="both-painted", from_mm=0, n=19, n_noticed=18),
    Seen(media="both-painted", from_mm=20, n=28, n_noticed=28),
    Seen(media="both-painted", from_mm=30, n=23, n_noticed=23),
    Seen(media="both-painted", from_mm=45, n=31, n_noticed=31),
    Seen(media="both-painted", from_mm=70, n=33, n_noticed=33),
)
SIGNS: tuple[Signs, ...] = (
    Signs(
        media="drawn",
        n_changed=603,
        changed_as_changed=573,
        changed_as_unchanged=13,
        n_unchanged=2197,
        unchanged_as_changed=13,
    ),
    Signs(
        media="one-painted",
        n_changed=384,
        changed_as_changed=365,
        changed_as_unchanged=7,
        n_unchanged=1438,
        unchanged_as_changed=48,
    ),
    Signs(
        media="both-painted",
        n_changed=366,
        changed_as_changed=337,
        changed_as_unchanged=15,
        n_unchanged=1367,
        unchanged_as_changed=21,
    ),
)


def noticed_from(media: Media, from_mm: int) -> float:
    """Give the rate at which edits of that size or larger are noticed: the lower end of its interval."""
    rows = [row for row in SEEN if row.media == media and row.from_mm >= from_mm]
    return exact_interval(sum(row.n_noticed for row in rows), sum(row.n for row in rows))[0] if rows else 0.0


def noticed_under(media: Media, under_mm: int) -> float:
    """Give the rate at which smaller edits are noticed: the lower end of its interval."""
    rows = [row for row in SEEN if row.media == media and row.from_mm < under_mm]
    return exact_interval(sum(row.n_noticed for row in rows), sum(row.n for row in rows))[0] if rows else 0.0


def _counted_under(media: Media, under_mm: int) -> int:
    return sum(row.n for row in SEEN if row.media == media and row.from_mm < under_mm)


def fineness(media: Media) -> dict[str, int]:
    """Give how fine was looked: the smallest size noticed nine times in ten, or the size from which most is noticed.

    `from_mm`; `in_100` of that size or larger, and `smaller_in_100` of what is smaller, are noticed at least. No size
    is told of which fewer than ten smaller ones were counted.
    """
    sizes = [mm for mm in SIZES_MM if _counted_under(media, mm) >= _LEAST_COUNTED]
    if not sizes:  # nothing was counted of these media: nothing is known to be noticed
        return {"from_mm": max(SIZES_MM), "in_100": 0, "smaller_in_100": 0}
    sure = [mm for mm in sizes if noticed_from(media, mm) >= SURE]
    from_mm = sure[0] if sure else max(sizes, key=lambda mm: noticed_from(media, mm))
    return {
        "from_mm": from_mm,
        "in_100": int(100 * noticed_from(media, from_mm)),
        "smaller_in_100": int(100 * noticed_under(media, from_mm)),
    }


def touch_bounds(media: Media | None = None) -> Remark:
    """Give how far the signs at notes can be trusted, of all media together or of one, in 100, at worst."""
    rows = [row for row in SIGNS if media is None or row.media == media]
    n_changed, n_unchanged = sum(row.n_changed for row in rows), sum(row.n_unchanged for row in rows)
    found = exact_interval(sum(row.changed_as_changed for row in rows), n_changed)[0]
    missed = exact_interval(sum(row.changed_as_unchanged for row in rows), n_changed)[1]
    false = exact_interval(sum(row.unchanged_as_changed for row in rows), n_unchanged)[1]
    return Remark(
        "touch-bounds",
        {
            "changed_as_changed": int(100 * found),
            "changed_as_unchanged": -int(-100 * missed // 1),
            "unchanged_as_changed": -int(-100 * false // 1),
        },
    )
