"""Soft proofs in words: how a picture is shown, what lies outside the inks, and why a profile was not taken."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.press.soft_proof import COARSEST_DE, NotProofed, ProfileFault, Rendering, SoftFound
from reviews.rules.entries import Entry

INDICATIVE = gettext_lazy(
    "Indicative only: this screen is not calibrated for it, and a profile is a model of a press. Colour is signed off "
    "on a measured contract proof; the printer’s own specification wins."
)
RENDERINGS: Mapping[Rendering, Any] = {
    Rendering.RELATIVE: gettext_lazy("relative colorimetric"),
    Rendering.PERCEPTUAL: gettext_lazy("perceptual"),
    Rendering.SATURATION: gettext_lazy("saturation"),
    Rendering.ABSOLUTE: gettext_lazy("absolute colorimetric"),
    Rendering.OWN_INKS: gettext_lazy("its own inks, unconverted"),
}
_ASSUMED_NOW: Mapping[str, Any] = {
    "RGB": gettext_lazy("The file carries no profile: its colours were taken for sRGB."),
    "GREY": gettext_lazy("The file carries no profile: its greys were taken for sRGB."),
    "CMYK": gettext_lazy(
        "The file carries no profile: its inks were read by the picture library’s built-in CMYK profile, which calls "
        "itself “Chemical proof” and stands for no press."
    ),
}
_NOT_MADE: Mapping[str, Any] = {
    NotProofed.NO_INKS: gettext_lazy("The file has no inks of its own, so there are none to keep. Choose a rendering."),
    NotProofed.NOT_USABLE: gettext_lazy(
        "The colour engine cannot read this profile’s tables. Ask the printer for another file of it."
    ),
    "took-too-long": gettext_lazy(
        "It was not made: it took longer than it may, as on a busy machine. Show it once more to try again."
    ),
    "too-much-memory": gettext_lazy(
        "It was not made: it took more memory than it may. Show it once more to try again."
    ),
}
GIVEN_UP = gettext_lazy("It was not made, and is not being tried any more. Show it once more to try again.")


def told_words(name: str, rendering: Rendering, *, has_black_point: bool, shows_paper: bool) -> str:
    """Say by which profile and how a picture is shown."""
    parts = [name, str(RENDERINGS[rendering])]
    if rendering not in {Rendering.OWN_INKS, Rendering.ABSOLUTE}:
        parts.append(_("black point compensated") if has_black_point else _("black point not compensated"))
    parts.append(_("on its paper’s white") if shows_paper else _("on the screen’s white"))
    return ", ".join(parts)


def outside_words(found: SoftFound, rendering: Rendering) -> str:
    """Say how much lies outside the inks; where it was not looked for, that it was not."""
    if found.out_share is None:
        if rendering == Rendering.OWN_INKS:
            return _("Nothing is converted, so no colour was looked for that the inks cannot give.")
        return _(
            "What the inks cannot give was not looked for: this profile’s tables miss their own colours by {own:g} "
            "(ΔE00), more than {most:g}."
        ).format(own=found.own_de, most=COARSEST_DE)
    size = _("at {width} × {height} pixels").format(width=found.width_px, height=found.height_px)
    if not found.out_share:
        return _(
            "No pixel was found more than {limit:g} (ΔE00) off what the inks can give, {size}. Finer detail and "
            "smaller differences were not looked for."
        ).format(limit=found.limit_de, size=size)
    share = 100 * found.out_share
    told = _("less than 0.01 %") if share < 0.01 else _("{share:.3g} %").format(share=share)
    return _(
        "{share} of the picture is out of gamut, {size}: the inks miss it by more than {limit:g} (ΔE00), by {worst:g} "
        "at most."
    ).format(share=told, size=size, limit=found.limit_de, worst=found.worst_de)


def assumed_words(mode: str, *, has_profile: bool, rendering: Rendering) -> str:
    """Say what the file's colours were taken for; "" where its own profile was used, or none was needed."""
    if has_profile or rendering == Rendering.OWN_INKS:
        return ""
    return str(next((words for space, words in _ASSUMED_NOW.items() if mode.startswith(space)), ""))


def not_made_words(code: str) -> str:
    """Say why no soft proof could be made."""
    return str(_NOT_MADE.get(code) or _("It could not be made: one of the two files could not be read for it."))


def bring_profile_sentence(entry: Entry) -> str:
    """Tell who brought which profile."""
    data = entry.data
    told = _("{by} brought the profile “{name}” ({file}) to the book.")
    return told.format(by=entry.by, name=data["name"], file=data["file_name"])


SOFT_PROOF_REFUSALS: Mapping[str, Any] = {
    ProfileFault.NOT_A_PROFILE: gettext_lazy(
        "{name} is no ICC profile. Choose the .icc or .icm file that the printer names."
    ),
    ProfileFault.CUT_SHORT: gettext_lazy("{name} is cut short: it says it is longer than it is. Download it again."),
    ProfileFault.NOT_PRINTING: gettext_lazy(
        "{name} is a profile of a screen, a camera or a colour space, and of no press. Choose the one of the printing "
        "condition."
    ),
    ProfileFault.NOT_FOUR_INKS: gettext_lazy(
        "{name} is for other colours than cyan, magenta, yellow and black. Choose a CMYK profile."
    ),
    ProfileFault.NO_TABLES: gettext_lazy(
        "{name} lacks a table that a soft proof needs: into the inks or out of them. Ask the printer for the whole "
        "profile."
    ),
    "no-profile-file": gettext_lazy("Choose the file of the profile."),
    "profile-too-large": gettext_lazy("The file has more than {most} MB: it is no profile of a press. Choose another."),
    "profile-there": gettext_lazy("The book has {name} already, under this name or another."),
    "too-many-profiles": gettext_lazy("A book keeps {most} profiles at most, and this one does."),
    "no-such-profile": gettext_lazy("This profile is not offered for the book any more. Choose another."),
    "no-soft-proof": gettext_lazy(
        "This picture cannot be shown as printed: it is not read yet, a PDF, or of a stage before line."
    ),
    "no-inks-to-keep": gettext_lazy("The file has no inks of its own to keep. Choose a rendering."),
    "too-many-soft-proofs": gettext_lazy(
        "{most} ways of showing this picture are kept, and no more. Look at one of them."
    ),
}
