"""Pictures made from sheets, in words: how far the making has come, and what was done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext, gettext_lazy, ngettext

from reviews.pages.wording.coded import Sentence, said, split
from reviews.rules.derived import Making

_STEPS: dict[str, Sentence] = {
    "reading-sheet": gettext_lazy("Reading {name}"),
    "looking-for-shared": gettext_lazy("Looking for what the sheets share"),
    "compared-sheets": gettext_lazy("Compared sheet {one} with sheet {two}"),
    "laying-sheets": gettext_lazy("Laying the sheets over each other"),
    "writing-joined": gettext_lazy("Writing the joined picture"),
    "looking-for-pencil": gettext_lazy("Looking for the pencil"),
    "taking-pencil-out": gettext_lazy("Taking the pencil out"),
    "writing-ink": gettext_lazy("Writing the ink alone"),
    "taking-page": gettext_lazy("Taking page {page} out"),
    "turning": gettext_lazy("Turning and cropping"),
}


#: Less of a joined picture without a sheet is the rounding of its edges to whole pixels.
_LEAST_BARE = 0.001
#: What stands over and under a picture that is made, by what is made of it.
_HEADS: dict[Making, tuple[Any, Any, Any]] = {
    Making.JOIN: (gettext_lazy("Joining {names}"), gettext_lazy("Not joined: {names}"), gettext_lazy("Joined")),
    Making.INK: (
        gettext_lazy("Leaving only the ink of {names}"),
        gettext_lazy("The ink was not taken from {names}"),
        gettext_lazy("The ink alone"),
    ),
    Making.PAGE: (
        gettext_lazy("Taking a page out of {names}"),
        gettext_lazy("The page was not taken out of {names}"),
        gettext_lazy("A page of its file"),
    ),
    Making.TURN: (
        gettext_lazy("Turning {names}"),
        gettext_lazy("Not turned: {names}"),
        gettext_lazy("Turned and cropped"),
    ),
}
_SOURCES: dict[Making, tuple[Any, Any, Any]] = {
    Making.JOIN: (gettext_lazy("the sheets"), gettext_lazy("its scans"), gettext_lazy("Put the scans back")),
    Making.INK: (gettext_lazy("the scan"), gettext_lazy("its scan"), gettext_lazy("Put the scan back")),
    Making.PAGE: (gettext_lazy("its file"), gettext_lazy("its file"), gettext_lazy("Take this page out again")),
    Making.TURN: (
        gettext_lazy("the picture"),
        gettext_lazy("the picture as it was"),
        gettext_lazy("Put it back as it was"),
    ),
}


def head_words(making: Making, names: Sequence[str]) -> dict[str, str]:
    """Say over a picture that is made what is done, what was not, what it is, and in whose place it would stand."""
    under_way, failed, made = (str(words).format(names=listed_words(names)) for words in _HEADS[making])
    place, kept, back = (str(words) for words in _SOURCES[making])
    return {"under_way": under_way, "failed": failed, "made": made, "place": place, "kept": kept, "back": back}


def step_words(step: Mapping[str, Any]) -> str:
    """Say what is being done, ``{"code": "compared-sheets", "one": 1, "two": 2}``; at first it waits for its turn."""
    return said(_STEPS, *split(step)) if step else gettext("Waiting for its turn")


_HUES: dict[str, Any] = {
    "red": gettext_lazy("red"),
    "orange": gettext_lazy("orange"),
    "yellow": gettext_lazy("yellow"),
    "green": gettext_lazy("green"),
    "blue": gettext_lazy("blue"),
    "violet": gettext_lazy("violet"),
    "pink": gettext_lazy("pink"),
}


def _pencil_words(recipe: Mapping[str, Any]) -> str:
    """Name the pencil that was taken out: as it was named or found, or by the hue of the stroke pointed at."""
    return str(_HUES.get(recipe.get("pencil_hue", ""), recipe["pencil"]))


def made_sentence(recipe: Mapping[str, Any]) -> str:
    """Say in a line what was done, from the recipe of a picture that was just made."""
    if "pencil" in recipe:
        return gettext("The {pencil} under-drawing, {share:.1%} of the picture, was taken out.").format(
            pencil=_pencil_words(recipe), share=recipe["pencil_share"]
        )
    n = len(recipe["sheets"])
    return ngettext(
        "{n} sheet joined; what they share lies {apart:.2f} px apart.",
        "{n} sheets joined; what they share lies {apart:.2f} px apart.",
        n,
    ).format(n=n, apart=recipe["residual_px"])


def asked_words(making: Making, names: Sequence[str]) -> str:
    """Say what is asked for, to go after "asked to": join a.png and b.png."""
    asked = {
        Making.JOIN: gettext("join {names}"),
        Making.INK: gettext("leave only the ink of {names}"),
        Making.PAGE: gettext("take a page out of {names}"),
        Making.TURN: gettext("turn or crop {names}"),
    }[making]
    return asked.format(names=listed_words(names))


def listed_words(names: Sequence[str]) -> str:
    """List names as a sentence does: a, b and c."""
    if len(names) == 1:
        return names[0]
    return gettext("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])


def recipe_words(making: Making, names: Sequence[str], recipe: Mapping[str, Any]) -> list[str]:
    """Say a recipe in sentences: which sheets, turned and sized how, sharing how much."""
    if making == Making.INK:
        share = recipe["pencil_share"]
        covered = _share_words(share)
        taken = gettext("The {pencil} under-drawing of {name} is taken out; it covered {covered} of the scan.")
        return [taken.format(pencil=_pencil_words(recipe), name=names[0], covered=covered)]
    if making == Making.PAGE:
        told = gettext("Page {page} of the {n} in {name}, as it is there.")
        return [told.format(page=recipe["page"], n=recipe["n_pages"], name=names[0])]
    if making == Making.TURN:
        return [_turned_and_cut(names[0], recipe["quarters"], recipe["cut"])]
    lines = [gettext("{name} lies as it was scanned.").format(name=names[0])]
    for name, sheet in zip(names[1:], recipe["sheets"][1:], strict=True):
        laid = gettext("{name} is {turned} and {sized}; {share} of it overlaps.")
        turned, sized = _turned(sheet["turn_degrees"]), _sized(sheet["scale"])
        lines.append(laid.format(name=name, turned=turned, sized=sized, share=_percent(sheet["overlap"])))
    met = gettext("Where the sheets overlap they meet within {apart:.1f} pixels.")
    lines.append(met.format(apart=max(0.1, recipe["residual_px"])))
    # Older recipes do not tell how much no sheet covers.
    if recipe.get("bare_share", 0) >= _LEAST_BARE:
        bare = gettext("No sheet covers {share} of the joined picture: these wedges at its edges are white. Crop them.")
        lines.append(bare.format(share=_share_words(recipe["bare_share"])))
    return lines


def _share_words(share: float) -> str:
    return gettext("less than {n} %").format(n=1) if share < 0.01 else _percent(share)


def _turned_and_cut(name: str, quarters: int, cut: Sequence[int]) -> str:
    turned = (
        gettext("as it stood"),
        gettext("turned 90° clockwise"),
        gettext("turned 180°"),
        gettext("turned 90° anticlockwise"),
    )[quarters]
    sides = (gettext("left"), gettext("top"), gettext("right"), gettext("bottom"))
    cuts = [gettext("{n} % at the {side}").format(n=n, side=side) for side, n in zip(sides, cut, strict=True) if n]
    if not cuts:
        return gettext("{name}, {turned}.").format(name=name, turned=turned)
    return gettext("{name}, {turned}, with {cuts} cropped.").format(name=name, turned=turned, cuts=listed_words(cuts))


def _percent(share: float) -> str:
    return gettext("{n} %").format(n=f"{share:.0%}".rstrip("%"))


def _turned(degrees: float) -> str:
    if abs(degrees) < 0.05:
        return gettext("not turned")
    clockwise, anticlockwise = gettext("turned {n:.1f}° clockwise"), gettext("turned {n:.1f}° anticlockwise")
    return (clockwise if degrees > 0 else anticlockwise).format(n=abs(degrees))


def _sized(scale: float) -> str:
    if abs(scale - 1) < 0.0005:
        return gettext("kept at its size")
    sized = gettext("enlarged to {percent:.1f} %") if scale > 1 else gettext("reduced to {percent:.1f} %")
    return sized.format(percent=100 * scale)
