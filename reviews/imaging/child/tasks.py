"""What a confined child can be asked to do; each task takes a request and gives a plain answer or a refusal."""

from __future__ import annotations

import resource
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reviews.imaging._vips import Region
from reviews.imaging.files import one_page, opening, refusing
from reviews.imaging.files.colour import device_8bit
from reviews.imaging.limits import Limits
from reviews.imaging.proof import in_child, plate_in_child, soft_in_child
from reviews.imaging.results import Refusal
from reviews.imaging.sheets import derived_in_child
from reviews.imaging.tiles import plate_sheets, previews
from reviews.imaging.tiles.mini import write_mini

Request = dict[str, Any]
Answer = dict[str, Any] | Refusal
SendEvent = Callable[..., None]


def _opened(request: Request, limits: Limits) -> opening.Opened | Refusal:
    return opening.open_picture(
        Path(request["path"]),
        limits,
        Path(request["scratch"]),
        page=request.get("page", 0),
        ppi=request.get("ppi"),
        is_strict=request.get("is_strict", True),
    )


def examine(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Read the header only."""
    opened = _opened(request, limits)
    return opened if isinstance(opened, Refusal) else {"facts": asdict(opened.facts)}


def check(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Decode the picture to its end and keep nothing: what passes here will make its renditions."""
    opened = _opened(request, limits)
    if isinstance(opened, Refusal):
        return opened
    device = device_8bit(opened.pixels())
    region = Region.new(device)
    for top in range(0, device.height, previews.STRIP_ROWS):
        region.fetch(0, top, device.width, min(previews.STRIP_ROWS, device.height - top))
    return {"facts": asdict(opened.facts)}


def render(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Write preview, thumb, mini, pyramid, index and plates into a folder; say as soon as the preview is there."""
    opened = _opened(request, limits)
    if isinstance(opened, Refusal):
        return opened
    folder, facts = Path(request["folder"]), opened.facts
    kept = previews.set_aside(opened.pixels(), Path(request["scratch"]) / "device")
    preview = previews.write_small(kept, folder, opened.colour, facts.orientation)
    colours = write_mini(folder)  # of the thumb, which whoever hears of the preview may take away
    used = resource.getrusage(resource.RUSAGE_SELF)
    send(
        "preview",
        path=str(preview),
        facts=asdict(facts),
        cpu_seconds=used.ru_utime + used.ru_stime,
        peak_bytes=used.ru_maxrss * 1024,
    )
    index = previews.write_tiles(kept, folder, opened.colour, facts.orientation)
    for number, one in enumerate(facts.plates):
        pixels = opening.plate_pixels(Path(request["path"]), facts, one, Path(request["scratch"]))
        plate_sheets.write_plate(pixels, one, number, folder, Path(request["scratch"]), facts.orientation)
    return {"facts": asdict(facts), "pyramid": asdict(index.facts), "colours": colours}


def read(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Write a picture of at most a given size as raw RGB bytes, converted and turned."""
    opened = _opened(request, limits)
    if isinstance(opened, Refusal):
        return opened
    longest_px = request["longest_px"]
    kept = previews.set_aside(
        opened.pixels(),
        Path(request["scratch"]) / "device",
        least_px=longest_px,
        keep_whole=False,
    )
    shown = previews.small_rgb(kept, longest_px, opened.colour, opened.facts.orientation)
    # Straight to the file: a large sheet would otherwise be held twice.
    shown.tofile(request["out"])
    return {"facts": asdict(opened.facts), "width": shown.shape[1], "height": shown.shape[0]}


def inks(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Measure the ink of a picture, strip by strip."""
    opened = _opened(request, limits)
    return opened if isinstance(opened, Refusal) else in_child.inks_in(opened, request)


def plate(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Measure a plate of a special finish, strip by strip."""
    opened = _opened(request, limits)
    return opened if isinstance(opened, Refusal) else plate_in_child.plate_in(opened, request)


def soft(request: Request, limits: Limits, send: SendEvent) -> Answer:
    """Write a picture as a printing condition would print it."""
    opened = _opened(request, limits)
    return opened if isinstance(opened, Refusal) else soft_in_child.soft_in(opened, request)


def _guarded(task: Callable[[Request, Limits, SendEvent], Answer]) -> Callable[[Request, Limits, SendEvent], Answer]:
    def run(request: Request, limits: Limits, send: SendEvent) -> Answer:
        try:
            return task(request, limits, send)
        except refusing.DECODE_ERRORS as problem:
            if request.get("is_strict", True) and refusing.is_harmless(problem):
                return run({**request, "is_strict": False}, limits, send)
            return refusing.refusal_for(problem, Path(request["path"]), request.get("page", 0))

    return run


TASKS = {
    task.__name__: _guarded(task)
    for task in (
        examine,
        check,
        render,
        read,
        inks,
        plate,
        soft,
        derived_in_child.join,
        derived_in_child.ink,
        one_page.page,
        one_page.turn,
    )
}
