"""What a decoder's complaint means for the person whose file it is. Runs inside the confined child only."""

from __future__ import annotations

from pathlib import Path

from reviews.imaging._vips import Error
from reviews.imaging.files import heic, opening, pdf, psd, tiff_storage, tiff_unusual
from reviews.imaging.results import Refusal

_CUT_SHORT = (
    "premature",
    "truncat",
    "end of",
    "out of input",
    "read error",
    "short read",
    "unexpected eof",
    "not enough",
)
_NOT_CARRIED = (
    "unsupported",
    "not supported",
    "not implemented",
    "not configured",
    "unknown compression",
    "no codec",
    "is blocked",
    "decoder plugin",
    "samples out of range",
)


# A JPEG that is cut short says "premature end" too, but of its file.
_DAMAGED_JPEG = ("data segment", "bad huffman", "found marker", "arithmetic")
_CUT_JPEG = "jpeg file"


def is_harmless(problem: Exception) -> bool:
    """Whether a decoder only warned, of nothing that shows: bytes left over that some cameras write, say.

    Every warning that damage to the data gives, where more than 2 in 1,000 pixels changed by it, is among those that
    are not (54 of 60 damaged files, and all 36 whose pixels changed so; `test_door.py` holds the kinds).
    """
    said = str(problem).lower()
    is_warning = "vipsjpeg" in said or "jpegload" in said
    return is_warning and _CUT_JPEG not in said and not any(sign in said for sign in _DAMAGED_JPEG)


def refusal_for(problem: Exception, path: Path, page: int = 0) -> Refusal:
    """Put a decoder's complaint about a page into a refusal."""
    kind = opening.kind_at(path)
    said = str(problem).lower()
    if "out of memory" in said or "cannot allocate" in said:
        raise MemoryError
    if "contain page" in said:
        return Refusal("no-such-page", {"how": "container", "kind": kind, "page": page + 1})
    if isinstance(problem, psd.Unreadable):
        return psd.UNSUPPORTED
    if any(sign in said for sign in _DAMAGED_JPEG) and _CUT_JPEG not in said:
        return Refusal("damaged", {"kind": kind})
    if isinstance(problem, psd.Broken) or any(sign in said for sign in _CUT_SHORT):
        return Refusal("truncated", {"kind": kind})
    storage = tiff_storage.storage_at(path, page) if kind == "TIFF" else None
    if storage is not None and not storage.is_usual and storage.reading is None:
        # It may be whole: exporting the same again would not help.
        return Refusal("unsupported-kind", {"how": "stored", "kind": kind, **storage.told()})
    if any(sign in said for sign in _NOT_CARRIED):
        return Refusal("unsupported-kind", {"how": "pixels", "kind": kind})
    return Refusal("damaged", {"kind": kind})


DECODE_ERRORS = (Error, psd.Broken, psd.Unreadable, pdf.PdfError, heic.HeicError, tiff_unusual.Undecodable)
