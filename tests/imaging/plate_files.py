"""Small files with spot plates, and the resources by which drawing programs name them."""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import tifffile

from tests.imaging.picture_files import SIZE, psd_bytes, quarters, resource, rgb_planes

SPOT, MASK = 2, 0
INKED = np.s_[100:140, 200:260]


def a_plate(*, is_inverted: bool = False) -> np.ndarray:
    plate = np.zeros(SIZE[::-1], np.uint8)
    plate[INKED] = 255
    return 255 - plate if is_inverted else plate


def channel_resources(*plates: tuple[str, int, tuple[int, ...]]) -> bytes:
    """Write the resources that name channels and say how each is shown: space and four parts, opacity, kind."""
    pascal = b"".join(bytes((len(name),)) + name.encode("mac_roman", "replace") for name, _, _ in plates)
    units = b"".join(struct.pack(">I", len(name)) + name.encode("utf-16-be") for name, _, _ in plates)
    shown = b"".join(struct.pack(">H4HHB", *colour, 100, kind) for _, kind, colour in plates)
    return resource(1006, pascal) + resource(1045, units) + resource(1077, struct.pack(">I", 1) + shown)


VARNISH = ("Spot varnish", SPOT, (0, 65535, 0, 32768, 0))
FOIL = ("Goldfolie für Titel", SPOT, (2, 65535, 39321, 13107, 65535))
CUT = ("cut-out", MASK, (0, 65535, 0, 0, 0))


def _tiff(path: Path) -> None:
    named = channel_resources(VARNISH, CUT)
    stored = np.dstack([np.asarray(quarters()), a_plate(), a_plate(is_inverted=True)])
    tifffile.imwrite(
        path,
        stored,
        photometric="rgb",
        planarconfig="contig",
        extrasamples=("unspecified",) * 2,
        extratags=[(34377, 7, len(named), named, True)],
    )


def _psd(path: Path) -> None:
    planes = np.concatenate([rgb_planes(), a_plate()[None], 255 - a_plate()[None]])
    path.write_bytes(psd_bytes(planes, 3, resources=channel_resources(VARNISH, FOIL)))


# Name of a form -> (kind the door must find, how far a colour may be off, how it is written).
WITH_PLATES: dict[str, tuple[str, int, Callable[[Path], None]]] = {
    "TIFF with plates": ("TIFF", 0, _tiff),
    "PSD with plates": ("PSD", 0, _psd),
}
