"""What one picture may cost: every limit with its reason. Checked on the header, before a pixel is decoded."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.imaging.results import Refusal


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Limits for opening one file; the last four are enforced by the kernel on the child that decodes it."""

    # A 16-bit scan of a double page at 600 ppi is about 0.5 GB; beyond this something else was sent.
    max_bytes: int = 1 << 30
    # An A3 sheet at 1200 ppi is 280 megapixels. 60000 x 60000, the usual bomb, is 3600.
    max_pixels: int = 400_000_000
    # JPEG's own ceiling; a strip 1 px high and a million wide is no picture.
    max_side_px: int = 65_535
    max_pages: int = 500
    # Measured: 87 megapixels of CMYK with a profile need about 7 s of CPU, so 400 need about 35.
    wall_seconds: int = 180
    cpu_seconds: int = 240
    # Private memory; file mappings do not count. The heaviest honest case is an interlaced or progressive file,
    # which its format forces us to hold whole.
    memory_bytes: int = 1_500 << 20
    written_bytes: int = 4 << 30


def size_refusal(width_px: int, height_px: int, limits: Limits) -> Refusal | None:
    """Refuse a picture whose header announces too many pixels; None when its size is acceptable."""
    size = {"width_px": width_px, "height_px": height_px}
    if width_px < 1 or height_px < 1:
        return Refusal("damaged", {"how": "no-size"})
    if width_px > limits.max_side_px or height_px > limits.max_side_px:
        return Refusal("too-many-pixels", {"how": "side", **size, "most_px": limits.max_side_px})
    if width_px * height_px > limits.max_pixels:
        return Refusal("too-many-pixels", {"how": "area", **size, "most_px": limits.max_pixels})
    return None


def pages_refusal(n_pages: int, limits: Limits) -> Refusal | None:
    """Refuse a file with more pages than anyone would send as one picture."""
    if n_pages <= limits.max_pages:
        return None
    return Refusal("too-many-pages", {"n_pages": n_pages, "most": limits.max_pages})
