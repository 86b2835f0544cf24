"""Make one file of a page of a file, or of a picture turned and cropped. Runs inside the confined child only.

What a file holds is kept where it can be: a page of a PDF stays a PDF page, inks stay inks, sixteen bits sixteen, and
the colour profile comes along. Only a picture of a kind that is not written here is written as PNG or TIFF instead.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2

from reviews.imaging.files import opening
from reviews.imaging.files.pdf import open_pdf
from reviews.imaging.limits import Limits
from reviews.imaging.results import Refusal

SendEvent = Callable[..., None]

#: What is turned is held whole: a crop or a turn goes through a picture out of its order.
_MOST_HELD_BYTES = 600 << 20


def page(request: dict[str, Any], limits: Limits, send: SendEvent) -> dict[str, Any] | Refusal:
    """Write page ``page`` (from 0) of a PDF or TIFF as a file of its own."""
    source, number, out = Path(request["path"]), request["page"], request["out"]
    kind = opening.kind_at(source)
    if isinstance(kind, Refusal):
        return kind
    opened = opening.open_picture(source, limits, Path(request["scratch"]), page=number)
    if isinstance(opened, Refusal):
        return opened
    recipe = {"page": number + 1, "n_pages": opened.facts.n_pages}
    send("progress", share=0.3, step={"code": "taking-page", "page": number + 1})
    if kind == "PDF":
        refused = _pdf_page(source, number, out)
        if refused is not None:
            return refused
    else:
        _write(opened.pixels(), out, opened.facts.bits)
    return {"width": opened.facts.width_px, "height": opened.facts.height_px, "recipe": recipe}


def turn(request: dict[str, Any], limits: Limits, send: SendEvent) -> dict[str, Any] | Refusal:
    """Write a picture turned by quarters, then cut by per cent of its sides (left, top, right, bottom)."""
    is_strict = request.get("is_strict", True)
    opened = opening.open_picture(Path(request["path"]), limits, Path(request["scratch"]), is_strict=is_strict)
    if isinstance(opened, Refusal):
        return opened
    send("progress", share=0.2, step={"code": "turning"})
    image = opened.pixels()
    if image.width * image.height * image.bands * max(1, opened.facts.bits // 8) > _MOST_HELD_BYTES:
        return Refusal("too-much-memory")
    image = image.copy_memory().autorot()
    quarters = request["quarters"] % 4
    if quarters:
        image = image.rot(("d0", "d90", "d180", "d270")[quarters])
    left, top, right, bottom = request["cut"]
    x, y = round(image.width * left / 100), round(image.height * top / 100)
    width = max(1, round(image.width * (100 - right) / 100) - x)
    height = max(1, round(image.height * (100 - bottom) / 100) - y)
    image = image.crop(x, y, width, height)
    _write(image, request["out"], opened.facts.bits)
    recipe = {"quarters": quarters, "cut": [left, top, right, bottom]}
    return {"width": image.width, "height": image.height, "recipe": recipe}


def _pdf_page(source: Path, number: int, out: str) -> Refusal | None:
    checked = open_pdf(source)
    if isinstance(checked, Refusal):
        return checked
    with checked:
        whole, single = pypdfium2.PdfDocument(source), pypdfium2.PdfDocument.new()
        try:
            single.import_pages(whole, [number])
            single.save(out)
        finally:
            single.close()
            whole.close()
    return None


def _write(image: Any, out: str, bits: int) -> None:
    """Write without loss; resolution, profile and orientation are tags that come along."""
    if out.endswith(".png"):
        image.pngsave(out, compression=3, filter="up")
        return
    depth = {"bitdepth": 1} if bits == 1 else {}
    image.tiffsave(out, compression="ccittfax4" if bits == 1 else "lzw", **depth)
