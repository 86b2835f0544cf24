"""A soft proof as values: by which profile and how a picture is shown as a press would print it, and what was found.

Indicative only: a screen is no press, and the printer's own specification decides.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum

#: Raise the number when the same choice would show other pixels.
SOFT_METHOD = "soft-1"
#: A difference this small is not marked: what people see side by side is put at 1 to 3 (common practice).
LEAST_DE = 3.0
#: A profile whose own tables miss their own colours by more cannot tell what lies outside.
COARSEST_DE = 8.0


class Rendering(StrEnum):
    """How colours are brought into the inks: the four intents of an ICC profile, or not at all."""

    RELATIVE = "relative"
    PERCEPTUAL = "perceptual"
    SATURATION = "saturation"
    ABSOLUTE = "absolute"
    OWN_INKS = "own-inks"  # of a file in inks: they go to the press as they are


@dataclass(frozen=True, kw_only=True)
class SoftChoice:
    """What is asked: the profile by its content, the rendering, black point compensation, and the paper's white."""

    profile_sha256: str
    rendering: Rendering
    has_black_point: bool
    shows_paper: bool

    def __post_init__(self) -> None:
        # The absolute intent and unconverted inks know no black point compensation: one choice is not told as two.
        if self.rendering in {Rendering.ABSOLUTE, Rendering.OWN_INKS}:
            object.__setattr__(self, "has_black_point", False)

    @property
    def key(self) -> str:
        """Name the files made by this choice."""
        told = f"{SOFT_METHOD} {self.profile_sha256} {self.rendering} {self.has_black_point} {self.shows_paper}"
        return hashlib.sha256(told.encode()).hexdigest()[:20]

    def file_name(self, ending: str) -> str:
        """Name the picture (jpg) or the sheet of what lies outside (png)."""
        return f"soft-{self.key}.{ending}"


@dataclass(frozen=True, kw_only=True)
class SoftFound:
    """What came of it, on a picture of ``width_px`` × ``height_px``.

    ``out_share`` is the share of pixels that the inks cannot give within ``limit_de`` (CIEDE2000, the paper taken for
    white), ``worst_de`` the farthest; both None where it was not looked for: inks that are not converted, or a profile
    too coarse to tell. ``own_de`` is how far the profile's tables miss their own colours, 95 of 100 patches at most.
    """

    width_px: int
    height_px: int
    own_de: float
    limit_de: float
    out_share: float | None
    worst_de: float | None


class NotProofed(StrEnum):
    """Why nothing was made, though picture and profile were there."""

    NO_INKS = "no-inks"  # the file's own inks were to be kept, and it has none
    NOT_USABLE = "profile-not-usable"  # its tables cannot be read by the colour engine


class ProfileFault(StrEnum):
    """Why a file is no profile of a printing condition."""

    NOT_A_PROFILE = "not-a-profile"
    CUT_SHORT = "profile-cut-short"
    NOT_PRINTING = "profile-not-printing"
    NOT_FOUR_INKS = "profile-not-four-inks"
    NO_TABLES = "profile-no-tables"


MOST_PROFILE_BYTES = 8 << 20
