"""A PDF written from the first byte to the last, page by page: nothing of a page is kept once the next one begins.

ISO 32000-1: objects may stand in any order, and the table of where each begins comes last. Pictures are put in as the
JPEG they are (7.4.8), type by glyph number with the whole face beside it (9.7.4), so what is read aloud can be copied.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image
from reportlab.pdfbase import pdfmetrics

from reviews.notices.type import printable

_MODES = {"RGB": "/DeviceRGB", "L": "/DeviceGray"}


@dataclass(frozen=True, kw_only=True)
class JpegOnPage:
    """A JPEG laid on a page, in points from the lower left corner, cut to a box (x, y, width, height)."""

    data: bytes
    x: float
    y: float
    width: float
    height: float
    cut: tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class LineOfType:
    """A line of words in a face of ``notices.type``, its baseline beginning at x, y."""

    words: str
    face: str
    size: float
    x: float
    y: float
    grey: float = 0.0


@dataclass(frozen=True)
class HairBox:
    """A box drawn as a hair line, in points."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class PrintedPage:
    """What one page shows: frames and pictures below, type above."""

    frames: Sequence[HairBox]
    pictures: Sequence[JpegOnPage]
    lines: Sequence[LineOfType]


def is_jpeg(data: bytes) -> bool:
    """Say whether these bytes can be put into a PDF as they are."""
    try:
        with Image.open(io.BytesIO(data)) as opened:
            return opened.format == "JPEG" and opened.mode in _MODES
    except OSError:
        return False


class PdfStream:
    """One PDF under way. ``begin``, each ``page``, then ``end`` give the bytes that follow each other."""

    def __init__(self, title: str, width: float, height: float, faces: Sequence[str]) -> None:
        self.title, self.size = title, (width, height)
        self.faces = {name: pdfmetrics.getFont(name) for name in faces}
        self.n_bytes = 0
        self.offsets: dict[int, int] = {}
        self.page_numbers: list[int] = []
        self.next_number = 3  # the catalogue and the list of pages, written last
        self.fonts: dict[str, int] = {}

    def begin(self) -> Iterator[bytes]:
        yield self._count(b"%PDF-1.5\n%\xe2\xe3\xcf\xd3\n")
        for name in self.faces:
            yield from self._face(name)

    def page(self, page: PrintedPage) -> Iterator[bytes]:
        """Write one page, its pictures first."""
        images = {}
        for picture in page.pictures:
            number = self._number()
            with Image.open(io.BytesIO(picture.data)) as opened:
                (across, down), space = opened.size, _MODES[opened.mode]
            head = (
                f"/Type /XObject /Subtype /Image /Width {across} /Height {down} /ColorSpace {space} "
                "/BitsPerComponent 8 /Filter /DCTDecode"
            )
            yield self._stream(number, head, picture.data)
            images[number] = picture
        drawn = self._number()
        yield self._stream(drawn, "/Filter /FlateDecode", zlib.compress(self._drawing(page, images)))
        number = self._number()
        fonts = " ".join(f"/F{at} {font} 0 R" for at, font in enumerate(self.fonts.values()))
        pictures = " ".join(f"/P{image} {image} 0 R" for image in images)
        width, height = self.size
        yield self._object(
            number,
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width:.2f} {height:.2f}] /Contents {drawn} 0 R "
            f"/Resources << /Font << {fonts} >> /XObject << {pictures} >> >> >>",
        )
        self.page_numbers.append(number)

    def end(self) -> Iterator[bytes]:
        kids = " ".join(f"{number} 0 R" for number in self.page_numbers)
        yield self._object(1, "<< /Type /Catalog /Pages 2 0 R >>")
        yield self._object(2, f"<< /Type /Pages /Count {len(self.page_numbers)} /Kids [{kids}] >>")
        info = self._number()
        title = self.title.encode("utf-16-be").hex()
        yield self._object(info, f"<< /Title <feff{title}> >>")
        start = self.n_bytes
        rows = "".join(f"{self.offsets[number]:010d} 00000 n \n" for number in range(1, self.next_number))
        trailer = f"<< /Size {self.next_number} /Root 1 0 R /Info {info} 0 R >>"
        yield self._count(
            f"xref\n0 {self.next_number}\n0000000000 65535 f \n{rows}"
            f"trailer\n{trailer}\nstartxref\n{start}\n%%EOF\n".encode()
        )

    def _number(self) -> int:
        self.next_number += 1
        return self.next_number - 1

    def _count(self, data: bytes) -> bytes:
        self.n_bytes += len(data)
        return data

    def _object(self, number: int, body: str) -> bytes:
        self.offsets[number] = self.n_bytes
        return self._count(f"{number} 0 obj\n{body}\nendobj\n".encode("latin-1"))

    def _stream(self, number: int, head: str, data: bytes) -> bytes:
        self.offsets[number] = self.n_bytes
        begin = f"{number} 0 obj\n<< {head} /Length {len(data)} >>\nstream\n".encode("latin-1")
        return self._count(b"".join((begin, data, b"\nendstream\nendobj\n")))

    def _drawing(self, page: PrintedPage, images: dict[int, JpegOnPage]) -> bytes:
        steps = [f"0.4 w 0.6 G {f.x:.2f} {f.y:.2f} {f.width:.2f} {f.height:.2f} re S" for f in page.frames]
        for number, one in images.items():
            cut = " ".join(f"{value:.2f}" for value in one.cut)
            steps.append(
                f"q {cut} re W n {one.width:.2f} 0 0 {one.height:.2f} {one.x:.2f} {one.y:.2f} cm /P{number} Do Q"
            )
        for line in page.lines:
            at = list(self.faces).index(line.face)
            glyphs = self._glyphs(line.words, line.face)
            steps.append(
                f"BT {line.grey:.2f} g /F{at} {line.size:.2f} Tf {line.x:.2f} {line.y:.2f} Td <{glyphs}> Tj ET"
            )
        return "\n".join(steps).encode("latin-1")

    def _glyphs(self, words: str, face: str) -> str:
        glyph_of = self.faces[face].face.charToGlyph
        return "".join(f"{glyph_of.get(ord(sign), 0):04x}" for sign in printable(words))

    def _face(self, name: str) -> Iterator[bytes]:
        """Put a whole face in: its file, its widths, and which letter each glyph is."""
        face = self.faces[name].face
        file, descriptor, descendant, to_letters, font = (self._number() for _ in range(5))
        data = Path(face.filename).read_bytes()
        yield self._stream(file, f"/Filter /FlateDecode /Length1 {len(data)}", zlib.compress(data))
        box = " ".join(f"{value:.0f}" for value in face.bbox)
        plain = face.name.decode("latin-1")
        yield self._object(
            descriptor,
            f"<< /Type /FontDescriptor /FontName /{plain} /Flags 4 /FontBBox [{box}] /ItalicAngle 0 "
            f"/Ascent {face.ascent:.0f} /Descent {face.descent:.0f} /CapHeight {face.capHeight:.0f} "
            f"/StemV {face.stemV} /FontFile2 {file} 0 R >>",
        )
        letters = {glyph: sign for sign, glyph in sorted(face.charToGlyph.items(), reverse=True)}
        widths = " ".join(f"{glyph} [{face.charWidths[sign]:.0f}]" for glyph, sign in sorted(letters.items()))
        yield self._object(
            descendant,
            f"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /{plain} /CIDToGIDMap /Identity "
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "
            f"/FontDescriptor {descriptor} 0 R /DW {face.defaultWidth:.0f} /W [{widths}] >>",
        )
        yield self._stream(to_letters, "/Filter /FlateDecode", zlib.compress(_letters_of(letters)))
        yield self._object(
            font,
            f"<< /Type /Font /Subtype /Type0 /BaseFont /{plain} /Encoding /Identity-H "
            f"/DescendantFonts [{descendant} 0 R] /ToUnicode {to_letters} 0 R >>",
        )
        self.fonts[name] = font


def _letters_of(letters: dict[int, int]) -> bytes:
    """Write which letter each glyph is (9.10.3), a hundred in a block as the format asks."""
    rows = [f"<{glyph:04x}> <{chr(sign).encode('utf-16-be').hex()}>" for glyph, sign in sorted(letters.items())]
    blocks = [rows[at : at + 100] for at in range(0, len(rows), 100)]
    body = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap /CMapName /Letters def /CMapType 2 def\n"
        f"1 begincodespacerange <0000> <ffff> endcodespacerange\n{body}\nendcmap end end"
    ).encode("latin-1")


def width_of(words: str, face: str, size: float) -> float:
    """Say how wide a line is, in points."""
    font: Any = pdfmetrics.getFont(face)
    return float(font.stringWidth(printable(words), size))


def broken(words: str, face: str, size: float, width: float) -> list[str]:
    """Break a line of text where it does not fit; a word wider than the line stands alone and is cut by letters."""
    lines, line = [], ""
    for word in words.split():
        while width_of(word, face, size) > width and len(word) > 1:
            fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width_of(word[:n], face, size) <= width)
            lines += [line] if line else []
            lines.append(word[:fits])
            line, word = "", word[fits:]
        longer = f"{line} {word}" if line else word
        if line and width_of(longer, face, size) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return lines + ([line] if line else [])
