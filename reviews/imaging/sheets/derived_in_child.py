"""Make new pictures from decoded sheets. Runs inside the confined child only.

Sheets come as files of raw pixels and are mapped, not read; the picture being made is a mapped file too. So what grows
with the drawing lies on the disk, and the child's own memory stays within its limit.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from reviews.imaging._vips import GValue, Image
from reviews.imaging.arrays import OnProgress, Pixels
from reviews.imaging.limits import Limits, size_refusal
from reviews.imaging.results import Refusal
from reviews.imaging.sheets.grey import grey_profile
from reviews.imaging.sheets.joining import CouldNotJoin, join_scans
from reviews.imaging.sheets.pointed_stroke import NoStroke
from reviews.imaging.sheets.under_drawing import InkOnly, take_out_under_drawing

SendEvent = Callable[..., None]

# Level 3 with the "up" filter: measured on an A2 scan, a third of the time of level 6 for 4 % more bytes.
_PNG = {"compression": 3, "filter": "up"}
_MM_PER_INCH = 25.4
# Share of a picture that must lie on light paper to be taken for a scan of ink: measured, scans and the demo's drawings
# have 0.99 and more, its paintings and proofs 0.41 at most.
_LEAST_PAPER = 0.7
# Share of a picture that must be ink, or nothing would be left of it: one thin line across an A4 sheet is more.
_LEAST_INK = 0.0002


class _TooLargeTogether(Exception):
    """The sheets, laid out, make a picture beyond what is taken as one."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.code)
        self.refusal = refusal


def join(request: dict[str, Any], limits: Limits, send: SendEvent) -> dict[str, Any] | Refusal:
    """Join mapped sheets into a PNG."""
    sheets = [_mapped(sheet) for sheet in request["sheets"]]
    scratch = Path(request["scratch"]) / "canvas"

    def canvas(height: int, width: int) -> Pixels:
        refused = size_refusal(width, height, limits)
        if refused is not None:
            raise _TooLargeTogether(refused)
        white = np.memmap(scratch, np.uint8, "w+", shape=(height, width, 3))
        white[:] = 255
        return np.asarray(white)

    try:
        joined = join_scans(sheets, names=request["names"], canvas=canvas, on_progress=_progress(send, 0.85))
    except _TooLargeTogether as too_large:
        refused = too_large.refusal
        return Refusal("too-large-together", {**refused.values, "because": refused.code})
    if isinstance(joined, CouldNotJoin):
        return Refusal(joined.code, joined.values)
    send("progress", share=0.85, step={"code": "writing-joined"})
    _write(joined.picture, request)
    return _answer(joined.picture, joined.recipe)


def ink(request: dict[str, Any], limits: Limits, send: SendEvent) -> dict[str, Any] | Refusal:
    """Leave the ink of a mapped scan, as a grey PNG."""
    scan, at = _mapped(request["sheets"][0]), request.get("at")
    pointed = (at[0], at[1]) if at else None
    try:
        found = take_out_under_drawing(scan, request["pencil"], at=pointed, on_progress=_progress(send, 0.85))
    except NoStroke as nothing:
        return Refusal(nothing.code)
    refused = _no_ink_from(found, request["pencil"])
    if refused is not None:
        return refused
    send("progress", share=0.85, step={"code": "writing-ink"})
    _write(found.picture, request)
    return _answer(found.picture, found.recipe)


def _no_ink_from(found: InkOnly, wanted: str) -> Refusal | None:
    """Say why the ink of this picture cannot be had alone; None where it can."""
    if found.light_share < _LEAST_PAPER:
        return Refusal("not-a-scan")
    if not found.pencil:
        return Refusal("no-pencil", {"pencil": wanted, "may_be_faint": not wanted})
    if found.ink.mean() < _LEAST_INK:
        return Refusal("no-ink", {"pencil": found.pencil})
    return None


def _mapped(sheet: dict[str, Any]) -> Pixels:
    return np.asarray(np.memmap(sheet["path"], np.uint8, "r", shape=(sheet["height"], sheet["width"], 3)))


def _progress(send: SendEvent, up_to: float) -> OnProgress:
    return lambda share, step: send("progress", share=share * up_to, step=step)


def _answer(picture: Pixels, recipe: dict[str, Any]) -> dict[str, Any]:
    return {"width": picture.shape[1], "height": picture.shape[0], "recipe": recipe}


def _write(picture: Pixels, request: dict[str, Any]) -> None:
    """Write a PNG that says what it is: sRGB or grey, and how many pixels to the inch its sheets had."""
    bands = 1 if picture.ndim == 2 else 3
    image = Image.new_from_memory(picture, picture.shape[1], picture.shape[0], bands, "uchar")
    image = image.copy(interpretation="b-w" if bands == 1 else "srgb")
    if request["ppi"]:
        image = image.copy(xres=request["ppi"] / _MM_PER_INCH, yres=request["ppi"] / _MM_PER_INCH)
    if bands == 1:
        image.set_type(GValue.blob_type, "icc-profile-data", grey_profile())
        image.pngsave(request["out"], **_PNG)
    else:
        image.pngsave(request["out"], **_PNG, profile="srgb")
