"""Measure a plate on an opened picture. Runs inside the confined child only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reviews.imaging.arrays import Pixels
from reviews.imaging.files.colour import device_8bit
from reviews.imaging.files.opening import Opened, plate_pixels
from reviews.imaging.proof import plate
from reviews.imaging.proof.in_child import ForwardRows, turned
from reviews.imaging.results import Refusal
from reviews.imaging.tiles.plate_sheets import is_bare_light
from reviews.press.finish import FinishLimits

Rows = Callable[[int, int], Pixels]


def plate_in(opened: Opened, request: dict[str, Any]) -> dict[str, Any] | Refusal:
    """Measure a plate strip by strip: a picture, or with ``channel`` a spot channel of it."""
    channel = request.get("channel")
    read = _drawn(opened) if channel is None else _channel(opened, request, channel)
    if read is None:
        return Refusal("unsupported-kind", {"how": "pixels", "kind": opened.facts.kind})
    device, strip = read
    turn = opened.facts.orientation
    # Folds run down the page; on a file that lies on its side they are not where its rows say, and are not looked for.
    folds = request["folds_mm"] if turn <= 1 else []
    found = plate.measure(
        strip,
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


def _drawn(opened: Opened) -> tuple[Any, Rows]:
    """Read a picture as a plate: dark on white is finish, and of several inks the fullest counts."""
    device = device_8bit(opened.pixels())
    rows, is_ink = ForwardRows(device), opened.colour.space == "CMYK"

    def strip(top: int, bottom: int) -> Pixels:
        pixels = rows(top, bottom)
        found: Pixels = pixels.max(axis=2) if is_ink else 255 - pixels.min(axis=2)
        return found

    return device, strip


def _channel(opened: Opened, request: dict[str, Any], channel: int) -> tuple[Any, Rows] | None:
    """Read a spot channel, whichever way round it is stored; None where the file holds no such one."""
    spot = next((one for one in opened.facts.plates if one.channel == channel), None)
    if spot is None:
        return None

    def pixels() -> Any:
        return device_8bit(plate_pixels(Path(request["path"]), opened.facts, spot, Path(request["scratch"])))

    is_light = is_bare_light(pixels().avg())
    device = pixels()
    rows = ForwardRows(device)

    def strip(top: int, bottom: int) -> Pixels:
        grey: Pixels = rows(top, bottom)[..., 0]
        return 255 - grey if is_light else grey

    return device, strip
