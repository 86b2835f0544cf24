"""Hold the stored pictures against the rows: a share each night in both modes, or all of them by `verify_pictures`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field, replace
from datetime import timedelta
from time import monotonic

from django.utils import timezone

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.leftovers import clear_old_rows
from reviews.actions.store_checks import clear_nobodys, end_check
from reviews.models import StoreCheck
from reviews.models.store_checks import N_SHARDS
from reviews.queries.stored import (
    Owned,
    content_of,
    is_half_arrived,
    is_owned,
    last_written,
    names_in,
    owned_in,
    papers_in,
)
from reviews.tasks.mail_folder import clear_old_mails
from reviews.tasks.registry import does
from reviews.tasks.renditions_check import make_again, wrong_renditions
from reviews.uploads import clear_scratch

#: Files that no row names are removed after this: nothing that is being kept now can be so old.
NOBODYS_AFTER = timedelta(days=14)
HALF_ARRIVED_AFTER = timedelta(days=1)
#: Each night's share: all of them in four weeks and a half, where a night has time for its share.
SHARDS_A_NIGHT = 8
LONGEST_SECONDS = 30 * 60


@dataclass(frozen=True)
class Fault:
    """Something that is not as the rows say. ``pictures``: the rows that suffer from it; ``repaired``: no more."""

    code: str
    name: str
    pictures: tuple[int, ...] = ()
    repaired: bool = False
    shard: int = 0


@dataclass(kw_only=True)
class Found:
    """What a look has found so far."""

    n_originals: int = 0
    n_bytes: int = 0
    n_renditions: int = 0
    n_papers: int = 0
    n_removed: int = 0
    faults: list[Fault] = field(default_factory=list)

    @property
    def n_repaired(self) -> int:
        return sum(fault.repaired for fault in self.faults) - self.n_removed

    @property
    def n_open(self) -> int:
        return sum(not fault.repaired for fault in self.faults)

    def counts(self) -> dict[str, int]:
        """Give the counts as the row has them."""
        names = ("n_originals", "n_bytes", "n_renditions", "n_papers", "n_removed", "n_repaired")
        return {name: getattr(self, name) for name in names} | {"n_faults": len(self.faults)}


@does(jobs.STORE_CHECK)
def do_nights_share(claim: Claim) -> None:
    """Clear what has served, then look at the night's share. Begun again after a crash, it looks at the same again."""
    now = timezone.now()
    check = StoreCheck.objects.filter(pk=claim.subject_id, finished_at=None).first()
    if check is None:
        return
    clear_old_rows(now)
    clear_scratch(now)
    clear_old_mails(now)
    check_shards(check, min(check.first_shard + SHARDS_A_NIGHT, N_SHARDS), repair=True, seconds=LONGEST_SECONDS)


def check_shards(
    check: StoreCheck, end: int, *, repair: bool, seconds: float | None = None,
    tell: Callable[[Fault], object] = lambda fault: None,
) -> Found:  # fmt: skip
    """Look at the shards from the check's first up to ``end`` and write down what was found.

    Stops after a shard once it took ``seconds``; the row says how far it came. ``tell`` hears of each fault at once.
    """
    began, found, shard = monotonic(), Found(), check.first_shard
    while shard < end:
        for fault in _faults_of(shard, found, repair=repair):
            found.faults.append(replace(fault, shard=shard))
            tell(fault)
        shard += 1
        if seconds is not None and monotonic() - began > seconds:
            break
    faults = [asdict(fault) for fault in sorted(found.faults, key=lambda fault: fault.repaired)]
    end_check(check.pk, timezone.now(), end_shard=shard, counts=found.counts(), faults=faults)
    return found


def _faults_of(shard: int, found: Found, *, repair: bool) -> Iterator[Fault]:
    owned = owned_in(shard)
    for one in owned.values():
        yield from _content_faults(one, found, repair=repair)
    for name, sha256 in papers_in(shard).items():
        found.n_papers += 1
        if code := _bytes_fault(name, sha256):
            yield Fault(f"paper-{code}", name)
    for name in names_in(shard):
        yield from _nobodys(name, owned, found, repair=repair)


def _content_faults(one: Owned, found: Found, *, repair: bool) -> Iterator[Fault]:
    found.n_originals += 1
    name, pictures = storage.original_name(one.sha256), tuple(one.pictures)
    code = _bytes_fault(name, one.sha256)
    if code:
        # Never deleted and never mended from here: the same file put in again takes its place.
        yield Fault(f"original-{code}", name, pictures)
    else:
        found.n_bytes += one.n_bytes
    if one.size_px is None:
        return
    found.n_renditions += 1
    wrong = still = wrong_renditions(one.sha256, one.size_px)
    if wrong and repair and not code and make_again(one.sha256):
        still = wrong_renditions(one.sha256, one.size_px)  # that it was made is no proof that it stands
    still_wrong = {rendition for _, rendition in still}
    for what, rendition in wrong:
        yield Fault(what, rendition, pictures, repaired=rendition not in still_wrong)


def _bytes_fault(name: str, sha256: str) -> str:
    """Say what is wrong with a file that is named by its hash: missing, wrong, unreadable, or nothing."""
    try:
        if not storage.exists(name):
            return "missing"
        return "" if storage.hash_of(name) == sha256 else "wrong"
    except OSError:
        return "unreadable"


def _nobodys(name: str, owned: dict[str, Owned], found: Found, *, repair: bool) -> Iterator[Fault]:
    if is_half_arrived(name):
        age, code = HALF_ARRIVED_AFTER, "half-arrived"
    elif content_of(name) in owned or is_owned(name):
        return
    else:
        age, code = NOBODYS_AFTER, "nobodys"
    limit = timezone.now() - age
    try:
        if last_written(name) >= limit:
            return  # its row may be about to be written
        gone = repair and clear_nobodys(name, older_than=limit)
    except FileNotFoundError:
        return  # finished or cleared away meanwhile
    found.n_removed += gone
    yield Fault(code, name, repaired=gone)
