"""Read what an ICC profile says about itself, without trusting it. Standard library only.

By hand because a profile is a stranger's file: a few fields are read within bounds, and no engine has to build its
tables, in memory and time of its own, before the picture is known to be wanted. Offsets are those of the ICC.1:2022
specification (header in clause 7.2, tag types in clause 10), from memory; checked against what littleCMS reads in the
profiles that it makes and that the picture library ships.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from reviews.press.soft_proof import ProfileFault

# The colour spaces we convert from; a Lab or XYZ profile, or an n-colour one, is not what a picture carries.
SPACES = {b"RGB ": "RGB", b"CMYK": "CMYK", b"GRAY": "GREY"}
# sRGB's primaries adapted to D50, as IEC 61966-2-1 profiles carry them.
_SRGB_COLORANTS = {
    b"rXYZ": (0.4361, 0.2225, 0.0139),
    b"gXYZ": (0.3851, 0.7169, 0.0971),
    b"bXYZ": (0.1431, 0.0606, 0.7141),
}
_COLORANT_TOLERANCE = 0.0015
# Light of the middle grey 0.5 by sRGB's own curve; one level of 255 at that place is 0.0066.
_SRGB_MIDDLE = 0.21404
_MIDDLE_TOLERANCE = 0.0035


def space_of(profile: bytes) -> str | None:
    """Name the colour space a profile is for; None when it is not a profile we can use."""
    if len(profile) < 132 or profile[36:40] != b"acsp":
        return None
    return SPACES.get(profile[16:20])


def printing_fault(profile: bytes) -> ProfileFault | None:
    """Say why bytes are no profile of a printing condition in cyan, magenta, yellow and black; None where they are.

    Looks at the header and at where the two tables lie that a soft proof needs: into the inks and out of them.
    """
    if len(profile) < 132 or profile[36:40] != b"acsp":
        return ProfileFault.NOT_A_PROFILE
    (size,) = struct.unpack_from(">I", profile)
    if size > len(profile):
        return ProfileFault.CUT_SHORT
    if profile[12:16] != b"prtr":
        return ProfileFault.NOT_PRINTING
    if profile[16:20] != b"CMYK" or profile[20:24] not in (b"Lab ", b"XYZ "):
        return ProfileFault.NOT_FOUR_INKS
    try:
        # One after the other: a file may name a hundred tags that each lie over the whole of it.
        whole = {name for name, tag in _tags(profile) if len(tag) >= 32}
    except struct.error:
        return ProfileFault.CUT_SHORT
    return None if {b"A2B0", b"B2A0"} <= whole else ProfileFault.NO_TABLES


def _tags(profile: bytes) -> Iterator[tuple[bytes, bytes]]:
    (n_tags,) = struct.unpack_from(">I", profile, 128)
    for at in range(132, 132 + 12 * min(n_tags, 100), 12):
        if at + 12 > len(profile):
            return
        name, offset, length = struct.unpack_from(">4sII", profile, at)
        yield name, profile[offset : offset + length]


def name_of(profile: bytes) -> str:
    """Give the profile's own description; "" when it has none that can be read."""
    try:
        for name, tag in _tags(profile):
            if name == b"desc":
                # A database keeps no NUL, and a line of a list no line break.
                return "".join(sign for sign in _text(tag) if sign.isprintable()).strip()[:200]
    except (struct.error, UnicodeDecodeError):
        pass
    return ""


def _text(tag: bytes) -> str:
    if tag[:4] == b"desc":
        (length,) = struct.unpack_from(">I", tag, 8)
        return tag[12 : 12 + length].decode("latin-1")
    if tag[:4] == b"mluc":
        length, offset = struct.unpack_from(">II", tag, 20)
        return tag[offset : offset + length].decode("utf-16-be")
    return ""


def is_srgb(profile: bytes) -> bool:
    """Say whether a profile is sRGB under any name, so that converting would change no pixel by more than a level.

    Judged by its numbers (primaries and the middle of each curve), never by its name.
    """
    try:
        tags = dict(_tags(profile))
        if space_of(profile) != "RGB" or b"A2B0" in tags:
            return False
        for name, wanted in _SRGB_COLORANTS.items():
            found = [value / 65536 for value in struct.unpack_from(">3i", tags[name], 8)]
            if any(abs(a - b) > _COLORANT_TOLERANCE for a, b in zip(found, wanted, strict=True)):
                return False
        return all(abs(_middle(tags[name]) - _SRGB_MIDDLE) < _MIDDLE_TOLERANCE for name in (b"rTRC", b"gTRC", b"bTRC"))
    except (KeyError, struct.error, ValueError, OverflowError, ZeroDivisionError):
        return False


def _middle(tag: bytes) -> float:
    """Evaluate a tone curve at one half."""
    if tag[:4] == b"curv":
        (n,) = struct.unpack_from(">I", tag, 8)
        if n == 0:
            return 0.5
        values = struct.unpack_from(f">{n}H", tag, 12)
        if n == 1:
            return float(0.5 ** (values[0] / 256))
        low, rest = divmod((n - 1) * 0.5, 1)
        return float(values[int(low)] * (1 - rest) + values[min(int(low) + 1, n - 1)] * rest) / 65535.0
    (form,) = struct.unpack_from(">H", tag, 8)
    if tag[:4] != b"para" or form not in (0, 3):
        raise ValueError("an uncommon curve")
    if form == 0:
        (gamma,) = struct.unpack_from(">i", tag, 12)
        return float(0.5 ** (gamma / 65536))
    gamma, a, b = (value / 65536 for value in struct.unpack_from(">3i", tag, 12))
    return float((a * 0.5 + b) ** gamma)
