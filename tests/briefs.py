"""Briefs for tests: written before anything is handed in, so that a note can name a line."""

from __future__ import annotations

import hashlib

from django.core.files.uploadedfile import SimpleUploadedFile

from reviews.actions.briefs import add_references, change_brief
from reviews.models import Brief, Passage, Reference
from tests.cast import Cast
from tests.makers import a_jpeg

LINES = "She carries the pail in both arms.\nThe moon lies whole on the water."


def written(cast: Cast, passage: Passage | None = None, art: str = LINES, *, actor=None, **parts: str) -> Brief:
    """Write the next version of a spread's brief, or without a passage of the book's."""
    spread = passage.spread_id if passage else None
    seen = Brief.objects.filter(book=cast.book, spread=spread).count()
    return change_brief(cast.book.pk, spread, {"art": art} | parts, seen=seen, actor=actor or cast.art_director)


def an_upload(data: bytes, name: str = "tarn.jpg") -> SimpleUploadedFile:
    """A file as the upload handler leaves it: with its fingerprint."""
    upload = SimpleUploadedFile(name, data)
    upload.sha256 = hashlib.sha256(data).hexdigest()
    return upload


def referred(cast: Cast, passage: Passage | None = None, seed: int = 7) -> Reference:
    """Put one picture beside a brief."""
    spread = passage.spread_id if passage else None
    (made,) = add_references(cast.book.pk, spread, [an_upload(a_jpeg(seed))], actor=cast.art_director)
    return made
