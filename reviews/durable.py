"""Files that a power cut cannot take back: on the disk before anything says that they are there.

A rename without this order is atomic but not durable: the kernel may write the name long before the bytes, and then
the power goes. So bytes are flushed first, then the file gets its name, then the folder that holds the name is
flushed; only after that may a row tell of it. Standard library only.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path


def flush_file(path: Path) -> None:
    """Return once the bytes of a file are on the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


# A folder is flushed as a file is: what is written down are the names in it.
flush_folder = flush_file


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, each named on the disk; one that is there is left as it is."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    flush_folder(folder.parent)


def name_files(arrived: Iterable[tuple[Path, Path]]) -> None:
    """Give files that lie on the same disk their names (from, to), in this order; the folders must be there.

    A reader sees each file whole or not at all, also after a power cut; once this returns, a power cut leaves them.
    """
    folders = set()
    for source, target in arrived:
        flush_file(source)
        source.replace(target)
        folders.add(target.parent)
    for folder in folders:
        flush_folder(folder)


def write_durably(path: Path, data: bytes, *, mode: int = 0o600) -> None:
    """Write a small file whole, replacing what lies there, and return once it is on the disk."""
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(descriptor, "wb") as handle:
        handle.write(data)
    name_files([(fresh, path)])
