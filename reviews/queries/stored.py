"""Which stored files the rows own, and which names lie in the store: shard by shard, so that memory holds 1 of 256."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import PurePosixPath

from django.core.files.storage import default_storage

from reviews import storage
from reviews.models import Letter, Picture, PrintProfile, Reference, SoftProof
from reviews.models.store_checks import N_SHARDS
from reviews.rules.states import PictureState

ORIGINALS, RENDITIONS, PAPERS = "originals", "renditions", "papers"


@dataclass
class Owned:
    """One content that rows name: which pictures, how large, and its size in pixels once it was read."""

    sha256: str
    n_bytes: int
    pictures: list[int] = field(default_factory=list)
    size_px: tuple[int, int] | None = None


def shard_name(shard: int) -> str:
    """Name a shard: the first two digits of the hashes in it."""
    if not 0 <= shard < N_SHARDS:
        raise ValueError(f"There are {N_SHARDS} shards, so none is number {shard}.")
    return f"{shard:02x}"


def owned_in(shard: int) -> dict[str, Owned]:
    """Find every content of a shard that a picture, reference or profile names, whatever became of it (4 queries)."""
    found: dict[str, Owned] = {}
    rows = Picture.objects.filter(sha256__startswith=shard_name(shard)).order_by("sha256", "pk")
    for pk, sha256, n_bytes, state, width, height in rows.values_list(
        "pk", "sha256", "n_bytes", "state", "width_px", "height_px"
    ):
        owned = found.setdefault(sha256, Owned(sha256, n_bytes))
        owned.pictures.append(pk)
        if state == PictureState.READY and width and height:
            owned.size_px = (width, height)
    references = Reference.objects.filter(sha256__startswith=shard_name(shard)).order_by("sha256", "pk")
    profiles = PrintProfile.objects.filter(sha256__startswith=shard_name(shard)).order_by("sha256")
    used = SoftProof.objects.filter(profile_sha256__startswith=shard_name(shard)).order_by("profile_sha256")
    for sha256, n_bytes in (
        *references.values_list("sha256", "n_bytes"),
        *profiles.values_list("sha256", "n_bytes"),
        *used.values_list("profile_sha256", "profile_n_bytes"),
    ):
        found.setdefault(sha256, Owned(sha256, n_bytes))
    return found


def papers_in(shard: int) -> dict[str, str]:
    """Find the SHA-256 of every letter's PDF of a shard, by the name under which it is stored (1 query)."""
    prefix = f"{PAPERS}/{shard_name(shard)}/"
    names = Letter.objects.filter(paper__startswith=prefix).order_by("paper").values_list("paper", flat=True)
    return {name: PurePosixPath(name).stem for name in names}


def is_owned(name: str) -> bool:
    """Say whether a row names the content of a stored file: by its hash, or as a letter's PDF (at most 4 queries)."""
    if name.startswith(f"{PAPERS}/"):
        return Letter.objects.filter(paper=name).exists()
    owned = {"sha256": content_of(name)}
    return (
        any(kind._default_manager.filter(**owned).exists() for kind in (Picture, Reference, PrintProfile))
        or SoftProof.objects.filter(profile_sha256=owned["sha256"]).exists()
    )


def content_of(name: str) -> str:
    """Read from the name of a stored file whose content it is: the hash of the original."""
    parts = PurePosixPath(name).parts
    return parts[3] if parts[0] == RENDITIONS and len(parts) > 4 else PurePosixPath(parts[-1]).stem


def names_in(shard: int) -> Iterator[str]:
    """List every name of a shard that lies in the store: originals, papers, renditions of any method."""
    digits = shard_name(shard)
    for kind in (ORIGINALS, PAPERS):
        yield from _files(f"{kind}/{digits}")
    for method in _folders(RENDITIONS):
        for sha256 in _folders(f"{RENDITIONS}/{method}/{digits}"):
            yield from _files(f"{RENDITIONS}/{method}/{digits}/{sha256}")


def is_half_arrived(name: str) -> bool:
    """Say whether a file is a copy that was never finished."""
    return PurePosixPath(name).name.startswith(storage.ARRIVING)


def last_written(name: str) -> datetime:
    """Say when a stored file was written, by the store's own clock."""
    return default_storage.get_modified_time(name)


def _files(folder: str) -> list[str]:
    return [f"{folder}/{name}" for name in sorted(_listed(folder)[1])]


def _folders(folder: str) -> list[str]:
    return sorted(_listed(folder)[0])


def _listed(folder: str) -> tuple[list[str], list[str]]:
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return [], []
    return folders, [name for name in files if name]


def all_names() -> Iterator[str]:
    """List everything that lies in the store, folder by folder in order, but for copies that have not arrived."""
    yield from _below("")


def _below(folder: str) -> Iterator[str]:
    folders, files = _listed(folder)
    prefix = f"{folder}/" if folder else ""
    yield from (f"{prefix}{name}" for name in sorted(files) if not name.startswith(storage.ARRIVING))
    for each in sorted(folders):
        yield from _below(f"{prefix}{each}")
