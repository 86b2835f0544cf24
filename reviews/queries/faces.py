"""The faces that text blocks can be set in: those of the papers, from the same packages, and how wide they write."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import font_source_sans_pro
import font_source_serif_pro
from reportlab.pdfbase.ttfonts import TTFontFile

from reviews.press.text_blocks import Face, Metrics, SetBlock, TextBlock, set_block

_SERIF, _SANS = Path(font_source_serif_pro.font_directory), Path(font_source_sans_pro.font_directory)
FACE_FILES: dict[Face, Path] = {
    Face.SERIF: _SERIF / "SourceSerifPro-Regular.ttf",
    Face.SERIF_ITALIC: _SERIF / "SourceSerifPro-It.ttf",
    Face.SERIF_BOLD: _SERIF / "SourceSerifPro-Bold.ttf",
    Face.SERIF_BOLD_ITALIC: _SERIF / "SourceSerifPro-BoldIt.ttf",
    Face.SANS: _SANS / "SourceSansPro-Regular.ttf",
    Face.SANS_ITALIC: _SANS / "SourceSansPro-It.ttf",
    Face.SANS_BOLD: _SANS / "SourceSansPro-Bold.ttf",
    Face.SANS_BOLD_ITALIC: _SANS / "SourceSansPro-BoldIt.ttf",
}
_UNITS = 1000.0  # the reader gives widths in thousandths of an em


@cache
def metrics_of(face: Face) -> Metrics:
    """Read a face's widths from its file, once; letters are spaced as the file says, without kerning."""
    read = TTFontFile(str(FACE_FILES[face]))
    widths, other = read.charWidths, read.defaultWidth

    def advance(words: str) -> float:
        return sum(widths.get(ord(sign), other) for sign in words) / _UNITS

    def lacks(words: str) -> str:
        return "".join(dict.fromkeys(sign for sign in words if not sign.isspace() and ord(sign) not in widths))

    return Metrics(advance=advance, ascent=read.ascent / _UNITS, descent=-read.descent / _UNITS, lacks=lacks)


def lines_of(block: TextBlock) -> SetBlock:
    """Break a block into lines as its face writes."""
    return set_block(block, metrics_of(block.face))
