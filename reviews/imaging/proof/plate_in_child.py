"""Measure a plate on an opened picture. Runs inside the confined child only."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from reviews.imaging.arrays import Pixels
from reviews.imaging.files.colour import device_8bit
from reviews.imaging.files.opening import Opened
from reviews.imaging.proof import plate
from reviews.imaging.proof.in_child import ForwardRows, turned
from reviews.press.finish import FinishLimits


def plate_in(opened: Opened, request: dict[str, Any]) -> dict[str, Any]:
    """Measure a plate strip by strip; dark on white is finish, and of several inks the fullest counts."""
    device = device_8bit(opened.pixels())
    rows, is_ink = ForwardRows(device), opened.colour.space == "CMYK"
    turn = opened.facts.orientation
    # Folds run down the page; on a file that lies on its side they are not where its rows say, and are not looked for.
    folds = request["folds_mm"] if turn <= 1 else []
    found = plate.measure(
        lambda top, bottom: _finished(rows(top, bottom), is_ink=is_ink),
        device.width,
        device.height,
        opened.facts.width_px / request["width_mm"],
        FinishLimits(**request["limits"]),
        folds,
    )
    told = asdict(found) | {"looked_for_folds": turn <= 1}
    for name in ("thin_places", "gap_places", "fold_places"):
        told[name] = [turned(box, turn) for box in told[name]]
    if turn > 4:
        told["width_px"], told["height_px"] = told["height_px"], told["width_px"]
    return {"plate": told}


def _finished(pixels: Pixels, *, is_ink: bool) -> Pixels:
    found: Pixels = pixels.max(axis=2) if is_ink else 255 - pixels.min(axis=2)
    return found
