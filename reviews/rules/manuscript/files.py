"""The words of a file that somebody brings: plain text, or a word processor's .docx (ISO/IEC 29500).

The content decides what a file is, never its name. Nothing is unpacked to disk, no address in it is followed, no
entity of it is expanded, and no part is read further than its bound, whatever the file says of its own size.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from dataclasses import dataclass
from xml.parsers import expat

from reviews.rules.manuscript.breaking import PAGE_BREAK, ManuscriptRemark
from reviews.rules.manuscript.word_parts import MainPart, WordBody
from reviews.rules.states import Refused

#: Our own bounds: a manuscript with pictures pasted in may weigh some megabytes, its words never that much.
MOST_BYTES = 5 * 1024 * 1024
MOST_UNPACKED = 20 * 1024 * 1024
MOST_PARTS = 2_000
_MB = 1024 * 1024

_ZIP, _OLD_OFFICE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
#: What is surely no plain text, whatever an encoding would make of it.
_OTHERS = (b"%PDF", b"{\\rtf", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"7z\xbc\xaf", b"Rar!", b"\x1f\x8b")
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
#: What the readers of the two formats may raise; the last three for what no reader knows: an encoding without a name
#: of its own, a newer form of zip, a place beyond what any file can hold.
_BROKEN = (
    zipfile.BadZipFile, zlib.error, expat.ExpatError, EOFError, OSError, ValueError, LookupError, NotImplementedError,
    OverflowError,
)  # fmt: skip


@dataclass(frozen=True)
class FileText:
    """The words of a file, page breaks as form feeds, and what a reader should know of how they were read."""

    text: str
    remarks: tuple[ManuscriptRemark, ...] = ()


def text_of(data: bytes) -> FileText:
    """Read the words of a file; raise Refused with the reason where it has none that can be read."""
    if len(data) > MOST_BYTES:
        raise Refused("manuscript-file-too-large", most=MOST_BYTES // _MB)
    if not data.strip(b"\x00 \t\r\n"):
        raise Refused("manuscript-empty")
    if data.startswith(_OLD_OFFICE):
        raise Refused("manuscript-old-format")
    if data.startswith(_ZIP):
        return _of_word(data)
    if data.startswith(_OTHERS):
        raise Refused("manuscript-kind")
    return _of_plain(data)


def _of_plain(data: bytes) -> FileText:
    """Decode by the mark at the start, else as UTF-8, else as Windows-1252, which is said."""
    remarks: tuple[ManuscriptRemark, ...] = ()
    try:
        marked = next((name for mark, name in _MARKS if data.startswith(mark)), "")
        text = data.decode(marked or "utf-8")
    except UnicodeDecodeError as broken:
        if marked:
            raise Refused("manuscript-kind") from broken
        text = data.decode("cp1252", errors="replace")
        remarks = (ManuscriptRemark("guessed-encoding", {}),)
    if "\0" in text:
        raise Refused("manuscript-kind")
    return FileText(text, remarks)


def _of_word(data: bytes) -> FileText:
    """Read the main part of a .docx: its paragraphs and breaks, without what was struck out under tracking."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            if len(parts.infolist()) > MOST_PARTS:
                raise Refused("manuscript-too-packed")
            main = MainPart().of(_part(parts, "[Content_Types].xml"))
            if main is None:
                raise Refused("manuscript-kind")
            body = WordBody().of(_part(parts, main))
    except _BROKEN as broken:
        raise Refused("manuscript-broken") from broken
    remarks = tuple(ManuscriptRemark(code, {}) for code in sorted(body.seen))
    return FileText(_joined(body.paragraphs), remarks)


def _part(parts: zipfile.ZipFile, name: str) -> bytes:
    """Read one part, no further than its bound: what a file says of its own size is not believed."""
    try:
        told = parts.getinfo(name)
    except KeyError as missing:
        raise Refused("manuscript-kind") from missing
    if told.flag_bits & 0x1:
        raise Refused("manuscript-locked")
    # The two ways of packing that the standard knows; others unpack without a bound.
    if told.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise Refused("manuscript-broken")
    with parts.open(told) as packed:
        content = packed.read(MOST_UNPACKED + 1)
    if len(content) > MOST_UNPACKED:
        raise Refused("manuscript-too-packed")
    return content


def _joined(paragraphs: list[str]) -> str:
    """Join paragraphs as their writer parts them: by empty ones where there are some, else each is one of its own."""
    inner = paragraphs[1:-1]
    has_blanks = any(not one.strip(f" \n{PAGE_BREAK}") for one in inner)
    return ("\n" if has_blanks else "\n\n").join(paragraphs)
