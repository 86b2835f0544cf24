"""The files that a book's ledger vouches for: the pictures as they were put in, and the letters on paper."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from reviews import storage
from reviews.models import Book, Letter, Picture
from reviews.rules.faults import LedgerFault

_BLOCK = 1 << 20
_PAPER = re.compile(r"([0-9a-f]{64})\.pdf$")


@dataclass
class FileCheck:
    """``is_hashed``: every byte was read; else only that each file is there and, of a picture, its size."""

    is_hashed: bool
    n_pictures: int = 0
    n_papers: int = 0
    faults: list[LedgerFault] = field(default_factory=list)


def check_files(book: Book, *, hashes: bool) -> FileCheck:
    """Look at every original and every letter's PDF of a book (2 queries, and one look at the store for each file)."""
    check = FileCheck(hashes)
    seen: set[str] = set()
    for picture in Picture.objects.filter(hand_in__passage__book=book).order_by("pk"):
        if picture.sha256 not in seen:
            seen.add(picture.sha256)
            check.n_pictures += 1
            check.faults += _picture_faults(picture, hashes)
    for letter in Letter.objects.filter(book=book).exclude(paper="").order_by("number"):
        check.n_papers += 1
        check.faults += _paper_faults(letter, hashes)
    return check


def _picture_faults(picture: Picture, hashes: bool) -> Iterator[LedgerFault]:
    name = storage.original_name(picture.sha256)
    what = {"picture": picture.pk, "file": picture.file_name}
    if not storage.exists(name):
        yield LedgerFault("file-not-stored", **what)
    elif (size := storage.size(name)) != picture.n_bytes:
        yield LedgerFault("file-size-differs", size=size, n_bytes=picture.n_bytes, **what)
    elif hashes and _sha256_of(name) != picture.sha256:
        yield LedgerFault("file-bytes-differ", **what)


def _paper_faults(letter: Letter, hashes: bool) -> Iterator[LedgerFault]:
    named = _PAPER.search(letter.paper)
    if named is None or not storage.exists(letter.paper):
        yield LedgerFault("paper-not-stored", letter=letter.number)
    elif hashes and _sha256_of(letter.paper) != named[1]:
        yield LedgerFault("paper-bytes-differ", letter=letter.number)


def _sha256_of(name: str) -> str:
    digest = hashlib.sha256()
    with storage.open_stored(name) as stored:
        while block := stored.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()
