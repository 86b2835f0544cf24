"""Tell what a file is from its first bytes; its name is never asked."""

from __future__ import annotations

from reviews.imaging.results import PictureKind, Refusal

TAKEN = ("JPEG", "PNG", "TIFF", "WebP", "AVIF", "HEIC", "PSD", "PSB", "PDF")

# A PDF may carry up to 1024 bytes before its mark (ISO 32000-1, annex H, implementation note 13, from memory).
HEAD_BYTES = 1100

_PICTURES: tuple[tuple[bytes, PictureKind], ...] = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"II+\x00", "TIFF"),
    (b"MM\x00+", "TIFF"),
    (b"8BPS\x00\x01", "PSD"),
    (b"8BPS\x00\x02", "PSB"),
)
_OTHERS: tuple[tuple[bytes, str], ...] = (
    (b"GIF8", "gif"),
    (b"BM", "bmp"),
    (b"\x00\x00\x01\x00", "icon"),
    (b"\x00\x00\x00\x0cjP  ", "jpeg-2000"),
    (b"\xff\x4f\xff\x51", "jpeg-2000"),
    (b"\x00\x00\x00\x0cJXL ", "jpeg-xl"),
    (b"\xff\x0a", "jpeg-xl"),
    (b"v/1\x01", "openexr"),
    (b"%!PS", "postscript"),
    (b"\xc5\xd0\xd3\xc6", "eps"),
    (b"PK\x03\x04", "archive-or-working-file"),
    (b"PK\x05\x06", "empty-archive"),
    (b"\x1f\x8b", "compressed"),
    (b"7z\xbc\xaf", "archive"),
    (b"Rar!", "archive"),
    (b"\xd0\xcf\x11\xe0", "office"),
    (b"{\\rtf", "text-document"),
    (b"ID3", "sound"),
    (b"OggS", "sound-or-film"),
    (b"\x1aE\xdf\xa3", "film"),
    (b"\x7fELF", "program"),
    (b"MZ", "program"),
)
_AVIF_BRANDS = {b"avif", b"avis"}
_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}


def kind_of(head: bytes) -> PictureKind | Refusal:
    """Name the kind of picture the first `HEAD_BYTES` bytes announce, or refuse with what they are instead."""
    if not head:
        return Refusal("empty")
    if head[:4] == b"RIFF":
        return "WebP" if head[8:12] == b"WEBP" else _unsupported("sound-or-film")
    if head[4:8] == b"ftyp":
        return _kind_of_box_file(head)
    for mark, kind in _PICTURES:
        if head.startswith(mark):
            # A camera's raw file opens like a TIFF but only shows its small embedded preview.
            return _unsupported("raw") if kind == "TIFF" and head[8:10] == b"CR" else kind
    if b"%PDF-" in head[:1024]:
        return "PDF"
    for mark, name in _OTHERS:
        if head.startswith(mark):
            return _unsupported(name)
    return _by_its_text(head)


def _kind_of_box_file(head: bytes) -> PictureKind | Refusal:
    length = min(int.from_bytes(head[:4], "big"), len(head))
    brands = {head[8:12]} | {head[at : at + 4] for at in range(16, length - 3, 4)}
    if brands & _AVIF_BRANDS:
        return "AVIF"
    if brands & _HEIC_BRANDS:
        return "HEIC"
    return _unsupported("film-or-raw")


def _by_its_text(head: bytes) -> Refusal:
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if b"<svg" in text:
        return _unsupported("svg")
    if text.startswith((b"<!doctype", b"<html", b"<?xml")):
        return _unsupported("web-page")
    if text and all(byte >= 32 or byte in b"\t\r\n\f" for byte in text[:-3]):
        return Refusal("not-a-picture", {"how": "text"})
    return Refusal("not-a-picture")


def _unsupported(what: str) -> Refusal:
    return Refusal("unsupported-kind", {"what": what})
