"""The type that papers are set in: a serif and a sans from packages, with Latin, Greek and Cyrillic letters."""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path

import font_source_sans_pro
import font_source_serif_pro
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from reviews.press.text_blocks import Face
from reviews.queries.faces import FACE_FILES, metrics_of

SERIF, SERIF_BOLD, SANS, SANS_BOLD = "serif", "serif-bold", "sans", "sans-bold"

_FILES = {
    SERIF: (font_source_serif_pro, "SourceSerifPro-Regular.ttf"),
    SERIF_BOLD: (font_source_serif_pro, "SourceSerifPro-Bold.ttf"),
    SANS: (font_source_sans_pro, "SourceSansPro-Regular.ttf"),
    SANS_BOLD: (font_source_sans_pro, "SourceSansPro-Bold.ttf"),
}
for _name, (_package, _file) in _FILES.items():
    pdfmetrics.registerFont(TTFont(_name, Path(_package.font_directory, _file)))


@cache
def face_font(face: Face) -> str:
    """Name the font that blocks of text of a face are drawn in, as their pages draw them."""
    name = f"face-{face.value}"
    pdfmetrics.registerFont(TTFont(name, FACE_FILES[face]))
    return name


def in_face(words: str, face: Face) -> str:
    """Put a question mark for each letter that a face lacks."""
    lacking = set(metrics_of(face).lacks(words))
    return "".join("?" if sign in lacking else sign for sign in words)


@cache
def _letters() -> frozenset[int]:
    """Give the code points that all four faces can write."""
    faces = (pdfmetrics.getFont(name).face.charToGlyph for name in _FILES)
    return frozenset(set.intersection(*(set(face) for face in faces)))


def printable(text: str) -> str:
    """Keep what the faces can write; put a letter they lack without its accent, or as a question mark."""
    return "".join(_printable(sign) for sign in unicodedata.normalize("NFC", text))


def _printable(sign: str) -> str:
    if sign == "\n" or ord(sign) in _letters():
        return sign
    bare = "".join(part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    return bare if bare and all(ord(part) in _letters() for part in bare) else "?"
