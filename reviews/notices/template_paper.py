"""A template to draw on: the guides of one piece as a PDF with boxes and layers, as SVG, or as a picture.

The PDF has a MediaBox of the bleed, a TrimBox and a BleedBox, and each kind of guide on a layer of its own name, so
that a drawing program can hide them. Guides are drawn in the blue that a camera does not see.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from xml.sax.saxutils import escape

import pikepdf
from pikepdf import Array, Dictionary, Name
from PIL import Image, ImageDraw

from reviews.geometry import MM_PER_INCH
from reviews.pages.wording import press as words
from reviews.press.flats import Flat, Guide, GuideKind, guides

_BLUE = (0x3B, 0x8E, 0xC8)
_POINTS = 72 / MM_PER_INCH
_WIDE_MM = {GuideKind.TRIM: 0.35, GuideKind.FOLD: 0.25}
_THIN_MM = 0.18
MOST_PIXELS = 120_000_000  # of a picture template: a whole jacket at 600 ppi


def pdf_template(flat: Flat, title: str) -> bytes:
    """Draw the template as a PDF, one layer a kind of guide."""
    pdf = pikepdf.new()
    bleed = flat.bleed_mm * _POINTS
    width, height = (size * _POINTS for size in flat.with_bleed_mm)
    layers = {kind: pdf.make_indirect(Dictionary(Type=Name.OCG, Name=str(words.GUIDES[kind]))) for kind in _kinds(flat)}
    page = Dictionary(
        Type=Name.Page,
        MediaBox=_box(0, 0, width, height),
        BleedBox=_box(0, 0, width, height),
        TrimBox=_box(bleed, bleed, width - bleed, height - bleed),
        Contents=pdf.make_stream(_content(flat, height)),
        Resources=Dictionary(Properties=Dictionary({f"/{kind.name}": layer for kind, layer in layers.items()})),
    )
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    pdf.Root.OCProperties = Dictionary(OCGs=Array(layers.values()), D=Dictionary(Order=Array(layers.values())))
    pdf.docinfo["/Title"] = title
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def _kinds(flat: Flat) -> list[GuideKind]:
    return list(dict.fromkeys(guide.kind for guide in guides(flat)))


def _box(left: float, bottom: float, right: float, top: float) -> Array:
    return Array([round(value, 4) for value in (left, bottom, right, top)])


def _content(flat: Flat, height: float) -> bytes:
    """Write the drawing: PDF counts from the bottom left in points, guides from the top left of the trim in mm."""
    red, green, blue = (part / 255 for part in _BLUE)
    lines = [f"{red:.3f} {green:.3f} {blue:.3f} RG"]
    for guide in guides(flat):
        left, right = ((at + flat.bleed_mm) * _POINTS for at in (guide.left_mm, guide.right_mm))
        top, bottom = (height - (at + flat.bleed_mm) * _POINTS for at in (guide.top_mm, guide.bottom_mm))
        shape = f"{left:.3f} {bottom:.3f} {right - left:.3f} {top - bottom:.3f} re"
        if left == right:
            shape = f"{left:.3f} {bottom:.3f} m {right:.3f} {top:.3f} l"
        wide = _WIDE_MM.get(guide.kind, _THIN_MM) * _POINTS
        lines.append(f"/OC /{guide.kind.name} BDC {wide:.3f} w {_dash(guide)} {shape} S EMC")
    return "\n".join(lines).encode("ascii")


def _dash(guide: Guide) -> str:
    return "[6 4] 0 d" if guide.kind in {GuideKind.SAFETY, GuideKind.FOLD, GuideKind.GUTTER} else "[] 0 d"


def svg_template(flat: Flat, title: str) -> str:
    """Draw the template as SVG in millimetres, a named group a kind of guide."""
    width, height = flat.with_bleed_mm
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="{-flat.bleed_mm:g} {-flat.bleed_mm:g} {width:g} {height:g}">'
    )
    groups = "\n".join(
        f'<g id="{kind}" fill="none" stroke="#{bytes(_BLUE).hex()}" '
        f'stroke-width="{_WIDE_MM.get(kind, _THIN_MM):g}"><title>{escape(str(words.GUIDES[kind]))}</title>'
        f"{''.join(_svg_shapes(flat, kind))}</g>"
        for kind in _kinds(flat)
    )
    return f"{head}\n<title>{escape(title)}</title>\n{groups}\n</svg>\n"


def _svg_shapes(flat: Flat, kind: GuideKind) -> Iterator[str]:
    dashed = ' stroke-dasharray="2 1.4"' if kind in {GuideKind.SAFETY, GuideKind.FOLD, GuideKind.GUTTER} else ""
    for guide in guides(flat):
        if guide.kind != kind:
            continue
        width, height = guide.right_mm - guide.left_mm, guide.bottom_mm - guide.top_mm
        yield (
            f'<rect x="{guide.left_mm:g}" y="{guide.top_mm:g}" width="{round(width, 2):g}" '
            f'height="{round(height, 2):g}"{dashed}/>'
            if width
            else f'<path d="M{guide.left_mm:g} {guide.top_mm:g}V{guide.bottom_mm:g}"{dashed}/>'
        )


class TooManyPixels(ValueError):
    """A picture template of this size at this resolution would not fit in memory."""


def png_template(flat: Flat, ppi: float) -> bytes:
    """Draw the template as a picture of the whole bleed at a resolution, which the file states too."""
    width, height = (round(size / MM_PER_INCH * ppi) for size in flat.with_bleed_mm)
    if width * height > MOST_PIXELS or min(width, height) < 1:
        raise TooManyPixels(width, height)
    picture = Image.new("P", (width, height), 0)
    picture.putpalette([255, 255, 255, *_BLUE])
    draw = ImageDraw.Draw(picture)
    for guide in guides(flat):
        corners = [
            (round((x + flat.bleed_mm) / MM_PER_INCH * ppi), round((y + flat.bleed_mm) / MM_PER_INCH * ppi))
            for x, y in ((guide.left_mm, guide.top_mm), (guide.right_mm, guide.bottom_mm))
        ]
        inside = [(min(x, width - 1), min(y, height - 1)) for x, y in corners]
        wide = max(1, round(_WIDE_MM.get(guide.kind, _THIN_MM) / MM_PER_INCH * ppi))
        if inside[0][0] == inside[1][0]:
            draw.line(inside, fill=1, width=wide)
        else:
            draw.rectangle(inside, outline=1, width=wide)
    out = io.BytesIO()
    picture.save(out, "PNG", dpi=(ppi, ppi), optimize=True)
    return out.getvalue()
