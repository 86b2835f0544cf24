"""The profiles of printing conditions that a soft proof can be made by: a book's own, and those of this machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings

from reviews.imaging.files.icc import name_of, printing_fault
from reviews.models import Book, PrintProfile
from reviews.press.soft_proof import MOST_PROFILE_BYTES

_MOST_FILES = 400  # of a folder of profiles; a folder with more is no such folder


@dataclass(frozen=True, kw_only=True)
class ProfileOffered:
    """One profile. ``path`` is where it lies on this machine, None for one that was brought to the book."""

    name: str
    sha256: str
    n_bytes: int
    path: Path | None


def profiles_for(book: Book) -> list[ProfileOffered]:
    """List what a book's pictures can be shown by: what was brought first, then what this machine has (1 query)."""
    own = [
        ProfileOffered(name=row.name, sha256=row.sha256, n_bytes=row.n_bytes, path=None)
        for row in PrintProfile.objects.filter(book=book)
    ]
    known = {one.sha256 for one in own}
    return own + [one for one in machine_profiles(tuple(settings.PROFILE_FOLDERS)) if one.sha256 not in known]


@lru_cache(maxsize=4)
def machine_profiles(folders: tuple[str, ...]) -> tuple[ProfileOffered, ...]:
    """Find the profiles of printing conditions in folders of this machine, once in a process's life."""
    found = {one.sha256: one for folder in folders for one in _in_folder(Path(folder))}
    names = Counter(one.name for one in found.values())
    told = [
        replace(one, name=f"{one.name}, {one.path.stem}") if names[one.name] > 1 and one.path else one
        for one in found.values()
    ]
    return tuple(sorted(told, key=lambda one: one.name.lower()))


def _in_folder(folder: Path) -> Iterator[ProfileOffered]:
    if not folder.is_dir():
        return
    files = sorted(path for path in folder.rglob("*") if path.suffix.lower() in {".icc", ".icm"})
    for path in files[:_MOST_FILES]:
        try:
            if not path.is_file() or path.stat().st_size > MOST_PROFILE_BYTES:
                continue
            data = path.read_bytes()
        except OSError:
            continue
        if printing_fault(data) is None:
            name = name_of(data) or path.stem
            yield ProfileOffered(name=name, sha256=sha256(data).hexdigest(), n_bytes=len(data), path=path)
