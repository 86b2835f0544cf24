"""Make a soft proof of an opened picture. Runs inside the confined child only."""

from __future__ import annotations

import errno
import os
from dataclasses import asdict
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reviews.imaging._vips import Error
from reviews.imaging.arrays import Bools, Pixels
from reviews.imaging.files.opening import Opened
from reviews.imaging.proof import soft
from reviews.imaging.results import PREVIEW_PX
from reviews.imaging.tiles import previews, tiling
from reviews.press.soft_proof import COARSEST_DE, LEAST_DE, NotProofed, Rendering, SoftFound

_QUALITY = 90
# Rows at a time: floats of a whole preview would take 16 bytes a pixel, several times over.
_ROWS = 256
# Slanting lines, light and dark side by side, so that one of the two stands out of any art; in pixels of the preview.
_STRIPE = 10


def soft_in(opened: Opened, request: dict[str, Any]) -> dict[str, Any]:
    """Write the picture as printed, and a sheet of what lies outside, no larger than a preview."""
    kept = previews.set_aside(
        opened.pixels(), Path(request["scratch"]) / "device", least_px=PREVIEW_PX, keep_whole=False
    )
    device, turn = previews.small_device(kept, PREVIEW_PX), opened.facts.orientation
    rendering, profile = Rendering(request["rendering"]), str(request["profile"])
    try:
        own = soft.own_error(profile)
    except Error:
        return {"soft": None, "code": NotProofed.NOT_USABLE.value}
    limit = max(LEAST_DE, own)
    looks = rendering != Rendering.OWN_INKS and own <= COARSEST_DE
    shown = np.empty((*device.shape[:2], 3), np.uint8)
    outside = np.zeros(device.shape[:2], np.bool_)
    worst = 0.0
    for top in range(0, device.shape[0], _ROWS):
        part = soft.source_of(device[top : top + _ROWS], opened.colour)
        if rendering == Rendering.OWN_INKS and not part.is_inks:
            return {"soft": None, "code": NotProofed.NO_INKS.value}
        shown[top : top + _ROWS] = soft.as_printed(
            part, profile, rendering, has_black_point=request["has_black_point"], shows_paper=request["shows_paper"]
        ).numpy()
        if looks:
            off = soft.off_by(part, profile)
            outside[top : top + _ROWS], worst = off > limit, max(worst, float(off.max()))
    _write(previews.turned_pixels(shown, turn), Path(request["out_picture"]))
    if looks:
        sheet = previews.turned_pixels(outside[..., None].astype(np.uint8), turn)
        _write_outside(sheet.reshape(sheet.shape[:2]) > 0, Path(request["out_outside"]))
    high, wide = shown.shape[:2] if turn <= 4 else shown.shape[1::-1]
    found = SoftFound(
        width_px=int(wide),
        height_px=int(high),
        own_de=round(own, 2),
        limit_de=round(limit, 2),
        out_share=float(outside.mean()) if looks else None,
        worst_de=round(worst, 1) if looks else None,
    )
    return {"soft": asdict(found)}


def _write(rgb: Pixels, path: Path) -> None:
    path.write_bytes(tiling.jpeg(cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR), _QUALITY))


def _write_outside(outside: Bools, path: Path) -> None:
    """Write a PNG that is clear where the inks give the colour, and hatched where they do not."""
    rows, columns = np.indices(outside.shape, np.int32)
    is_light = (rows + columns) // (_STRIPE // 2) % 2 == 0
    sheet = np.zeros((*outside.shape, 4), np.uint8)
    sheet[outside & is_light] = (255, 255, 255, 255)
    sheet[outside & ~is_light] = (0, 0, 0, 255)
    done, data = cv2.imencode(".png", sheet)
    if not done:
        raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))
    path.write_bytes(data.tobytes())
