"""What somebody keeps of a book they left, as one archive that is written while it is sent."""

from __future__ import annotations

import hashlib
import json
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string

from reviews import storage
from reviews.models import Picture
from reviews.notices.statement_paper import statement_pdf
from reviews.pages.farewell import (
    Farewell,
    briefs_kept,
    lines_kept,
    own_pictures,
    pages_read,
    references_kept,
    stamps_kept,
    statement_kept,
    texts_kept,
)
from reviews.pages.statement_figures import statement_json
from reviews.pages.wording.ledger import sentence

_BLOCK = 1 << 20
_UNSAFE = re.compile(r"[^\w .,()–-]+")
#: Files of one archive carry one date, so that the same farewell gives the same bytes.
_FIRST_YEAR = 1980


class Pipe:
    """What a zip file is written into: it gives away what it got, and keeps nothing."""

    def __init__(self) -> None:
        self.waiting: list[bytes] = []

    def write(self, data: bytes) -> int:
        self.waiting.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        pass

    def close(self) -> None:
        pass

    def drain(self) -> bytes:
        out = b"".join(self.waiting)
        self.waiting.clear()
        return out


def archive_of(farewell: Farewell) -> Iterator[bytes]:
    """Write the archive piece by piece; memory holds one block of one file at a time."""
    pipe, sums, at = Pipe(), [], farewell.ended_at.astimezone(UTC)
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:
        for name, blocks in _files(farewell):
            told = zipfile.ZipInfo(name, zip_date(at))
            told.external_attr = 0o644 << 16
            digest = hashlib.sha256()
            with archive.open(told, "w", force_zip64=True) as out:
                for block in blocks:
                    digest.update(block)
                    out.write(block)
                    yield pipe.drain()
            sums.append(f"{digest.hexdigest()}  {name}\n")
        archive.writestr(zipfile.ZipInfo("fingerprints.txt", zip_date(at)), "".join(sums))
    yield pipe.drain()


def zip_date(at: datetime) -> tuple[int, int, int, int, int, int]:
    """Date a file inside a zip, which knows no year before 1980."""
    return max(at.year, _FIRST_YEAR), at.month, at.day, at.hour, at.minute, at.second


def _files(farewell: Farewell) -> Iterator[tuple[str, Iterable[bytes]]]:
    page = statement_kept(farewell)
    context = {"book": farewell.book, "kept": farewell, "stand": page.stand}
    yield "read-me.txt", [render_to_string("reviews/farewell/read-me.txt", context).encode()]
    yield "ledger.txt", [_ledger(farewell).encode()]
    yield "statement.pdf", [statement_pdf(page)]
    yield "statement.json", [json.dumps(statement_json(page), ensure_ascii=False, indent=1).encode()]
    for stamp in stamps_kept(farewell):
        # What was stamped are the digits of the fingerprint: `openssl ts -verify -data …txt -in …tsr -CAfile …`.
        name = f"time stamps/{page.line_names[stamp.entry.seq]}"
        yield f"{name}.txt", [stamp.entry.sha256.encode()]
        yield f"{name}.tsr", [bytes(stamp.answer)]
    for letter in pages_read(farewell):
        name = f"letters/letter {letter.letter.number}"
        yield f"{name}.txt", [render_to_string("reviews/farewell/letter.txt", {"page": letter}).encode()]
        if letter.letter.paper:
            yield f"{name}.pdf", _stored(letter.letter.paper)
    if briefs := briefs_kept(farewell):
        told = {"briefs": briefs, "references": references_kept(farewell), "kept": farewell}
        yield "briefs.txt", [render_to_string("reviews/farewell/briefs.txt", told).encode()]
    if texts := texts_kept(farewell):
        told = {"texts": texts, "kept": farewell}
        yield "texts.txt", [render_to_string("reviews/farewell/texts.txt", told).encode()]
    for picture in own_pictures(farewell):
        original = storage.original_name(picture.sha256)
        if storage.exists(original):
            yield _original_name(picture), _stored(original)
        else:
            missing = f"The file {picture.file_name} ({picture.sha256}) is not in the portal’s store any more.\n"
            yield f"{_original_name(picture)} is missing.txt", [missing.encode()]


def _ledger(farewell: Farewell) -> str:
    zone = ZoneInfo(farewell.book.zone)
    lines = (
        f"{line.name}\t{line.at.astimezone(zone):%Y-%m-%d %H:%M}\t{sentence(line.entry)}\t{line.code}\n"
        for line in reversed(lines_kept(farewell))
    )
    return "".join(lines)


def _original_name(picture: Picture) -> str:
    """Name a file by its place in the book; the number keeps two files of one name apart."""
    handed = picture.hand_in
    number = f"number {handed.number}" if handed.number else "not handed in"
    where = f"{handed.passage.where}, {number}"
    return f"originals/{_safe(where)}/{picture.pk} {_safe(picture.file_name)}"


def _safe(name: str) -> str:
    return _UNSAFE.sub("_", name).strip(" .") or "file"


def _stored(name: str) -> Iterator[bytes]:
    with storage.fetch_stored(name) as stored:
        while block := stored.read(_BLOCK):
            yield block
