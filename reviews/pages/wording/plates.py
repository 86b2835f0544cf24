"""Plates of special finishes in words: what each is for, what was measured, and what speaks against it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording import press
from reviews.press.file_check import NotLooked
from reviews.press.finish import (
    MOST_PLACES,
    Finish,
    FinishLimits,
    FoundPlateFault,
    Metal,
    PlateFault,
    PlateFound,
    PlateWay,
    Shift,
    is_seen,
)
from reviews.rules.entries import Entry

FINISHES: Mapping[Finish, Any] = {
    Finish.FOIL: gettext_lazy("foil"),
    Finish.SPOT_VARNISH: gettext_lazy("spot varnish"),
    Finish.EMBOSS: gettext_lazy("emboss"),
}
METALS: Mapping[Metal, Any] = {
    Metal.GOLD: gettext_lazy("gold"),
    Metal.SILVER: gettext_lazy("silver"),
    Metal.COPPER: gettext_lazy("copper"),
}
WAYS: Mapping[PlateWay, Any] = {
    PlateWay.OVERPRINT: gettext_lazy("over the printed art (overprint)"),
    PlateWay.KNOCK_OUT: gettext_lazy("on bare paper, the art is left out beneath (knock-out)"),
}
FAULTS: Mapping[PlateFault, Any] = {
    PlateFault.EMPTY: gettext_lazy(
        "The plate is empty: nothing on it is dark. Draw what is finished in black on white."
    ),
    PlateFault.FEW_PIXELS: gettext_lazy(
        "{ppi} ppi at print size; {least:g} ppi or more is usual for a plate. Export it larger, in one bit."
    ),
    PlateFault.OTHER_SIZE: gettext_lazy(
        "The plate ({width_px} × {height_px} pixels) has other proportions than its art. Export both from one page."
    ),
    PlateFault.TONES: gettext_lazy(
        "{per_cent:g} % of the picture is neither bare nor full. A plate holds 0 or 100 % only: no tints, no shadows."
    ),
    PlateFault.OFF_REGISTER: gettext_lazy(
        "The plate lies {off:g} mm off the art ({shift}); {least:g} mm is what finishers hold ({source}). Lay it anew."
    ),
    PlateFault.OLDER_ART: gettext_lazy(
        "Another version of the art is approved now. Tell the plate again, or hand in a new one."
    ),
}
#: What is said in place of those of a spot channel of the art's own file.
_CHANNEL_FAULTS: Mapping[PlateFault, Any] = {
    PlateFault.EMPTY: gettext_lazy("The spot plate is empty: nothing is drawn on it."),
    PlateFault.FEW_PIXELS: gettext_lazy(
        "{ppi} ppi at print size, as the art has; {least:g} ppi or more is usual for a plate. Ask the finisher, or "
        "hand in the plate as a larger picture of its own."
    ),
}
TELLS_MM = 0.05  # what a shift is told to, see imaging.proof.register
NOT_REGISTERED = press.NOT_LOOKED[NotLooked.PLATE_REGISTER]
OLDER_ART = FAULTS[PlateFault.OLDER_ART]
UNTOLD = press.NOT_LOOKED[NotLooked.PLATE_UNTOLD]
SPOT_UNTOLD = gettext_lazy(
    "Spot plate “{name}” in this file: nobody has told what it is for, so nothing was measured on it."
)
SAME_FILE = gettext_lazy("Register: in one file with the art, so it lies as the file has it; nothing to measure")
NOT_MEASURED = gettext_lazy("The plate was not measured.")
WAITS = gettext_lazy("The plate is being measured.")
NOT_READ = press.NOT_LOOKED[NotLooked.PLATE_NOT_READ]
NOT_LAID = press.NOT_LOOKED[NotLooked.PLATE_NOT_LAID]

#: What the page of a plate says by its state.
PLATE_WORDS: Mapping[str, Any] = {
    "untold": UNTOLD,
    "unless": gettext_lazy("If it is no plate of a finish, it needs no word here; the printer asks what it is."),
    "older_art": OLDER_ART,
    "waits": WAITS,
    "not_measured": NOT_MEASURED,
    "not_read": NOT_READ,
    "not_laid": NOT_LAID,
    "printer": press.PRINTER_WINS,
}


def looked_words(found: PlateFound, limits: FinishLimits, px_per_mm: float, *, is_channel: bool = False) -> str:
    """Say what was looked at on a plate, and what was not: folds and register only where they were, lines and gaps only
    where its pixels can show them."""
    sees_line, sees_gap = (is_seen(mm, px_per_mm) for mm in (limits.least_line_mm, limits.least_gap_mm))
    parts = [_("size"), _("0 or 100 %")]
    parts += [_("thinnest line")] if sees_line else []
    parts += [_("smallest gap")] if sees_gap else []
    parts += [_("folds")] if found.looked_for_folds else []
    parts += [_("register")] if found.shift is not None else []
    told = _("Looked at: {most} and {last}. Nothing else: not which inks lie beneath.").format(
        most=", ".join(parts[:-1]), last=parts[-1]
    )
    if not sees_line:
        told += " " + _("Too few pixels to tell a line of {mm:g} mm: none was looked for.").format(
            mm=limits.least_line_mm
        )
    if not sees_gap:
        told += " " + _("Too few pixels to tell a gap of {mm:g} mm: none was looked for.").format(
            mm=limits.least_gap_mm
        )
    if found.looked_for_folds is False:
        told += " " + _("The file lies on its side, so folds were not looked for.")
    if found.looked_for_folds is None:
        told += " " + _("It is not recorded whether folds were looked for.")
    if is_channel:
        told += " " + _("A file does not say which way round a spot plate is stored: what covers less is taken for it.")
    return told


def spot_name(name: str, number: int) -> str:
    """Name a spot plate as its file does, or by its number among the plates, from 1."""
    return name or _("Plate {n}").format(n=number)


def fault(found: FoundPlateFault, limits: FinishLimits, *, is_channel: bool = False) -> str:
    """Say what is wrong with a plate, and what to do; a figure that is the printer's own says so in its values."""
    shift = ""
    if found.code == PlateFault.OFF_REGISTER:
        shift = shift_words(Shift(found.values["right"], found.values["down"]))
    n = int(found.values.get("n", 0))
    own = _CHANNEL_FAULTS.get(found.code) if is_channel else None
    words = own or (FAULTS[found.code] if found.code in FAULTS else _counted(found.code, n))
    counted = {"n": _("{n} or more").format(n=n) if n >= MOST_PLACES else n}
    source = press.source(found.values.get("source", limits.source))
    return str(words).format(**found.values | counted | {"source": source, "shift": shift})


def _counted(code: PlateFault, n: int) -> str:
    if code == PlateFault.THIN_LINE:
        return ngettext(
            "{n} place is thinner than {least:g} mm, which may not hold ({source}). Thicken it or leave it out.",
            "{n} places are thinner than {least:g} mm, which may not hold ({source}). Thicken them or leave them out.",
            n,
        )
    if code == PlateFault.SMALL_GAP:
        return ngettext(
            "{n} gap is narrower than {least:g} mm and may fill ({source}). Open it.",
            "{n} gaps are narrower than {least:g} mm and may fill ({source}). Open them.",
            n,
        )
    return ngettext(
        "Finish stops within {least:g} mm of a fold in {n} place and may crack ({source}). Draw it back or across.",
        "Finish stops within {least:g} mm of a fold in {n} places and may crack ({source}). Draw it back or across.",
        n,
    )


def register_words(shift: Shift) -> str:
    """Say how a plate lies; less than what the measurement can tell is no shift."""
    if shift.off_mm < TELLS_MM:
        return _("Register: no shift of {least:g} mm or more was found").format(least=TELLS_MM)
    return _("Register: the plate lies {shift} of the art").format(shift=shift_words(shift))


def shift_words(shift: Shift) -> str:
    """Say how a plate lies off its art, to the hundredth of a millimetre."""
    across = _("{mm:.2f} mm to the right") if shift.right_mm >= 0 else _("{mm:.2f} mm to the left")
    down = _("{mm:.2f} mm down") if shift.down_mm >= 0 else _("{mm:.2f} mm up")
    return f"{across.format(mm=abs(shift.right_mm))}, {down.format(mm=abs(shift.down_mm))}"


def told_words(finish: str, way: str, metal: str) -> str:
    """Say what a plate is for."""
    name = str(FINISHES[Finish(finish)])
    if metal:
        name = _("{metal} {finish}").format(metal=METALS[Metal(metal)], finish=name)
    return _("{finish}, {way}").format(finish=name, way=WAYS[PlateWay(way)])


def held_words(name: str, told: tuple[str, str, str] | None) -> str:
    """Say, beside a file, which plate it holds in a spot channel; ``told`` is its finish, way and metal."""
    if told is None:
        return _("spot plate “{name}”: not told what it is for").format(name=name)
    return _("spot plate “{name}”: {told}; there is no second file").format(name=name, told=told_words(*told))


def plate_told(*, is_channel: bool) -> str:
    """Say what happens once it is told what a plate is for."""
    if is_channel:
        return _("It is told. The spot plate is being measured.")
    return _("It is told. The plate is being measured against the approved art.")


def tell_plate_sentence(entry: Entry) -> str:
    """Tell who says what a plate is for."""
    data = entry.data
    told = {"by": entry.by, "file": data["file_name"], "where": data["where"]}
    told["what"] = told_words(data["finish"], data["way"], data["metal"])
    channel = data.get("channel")
    if channel is None:
        return _("{by} tells what the plate {file} of {where} is for: {what}.").format(**told)
    name = spot_name(data["plate"], data["number"])
    return _("{by} tells what the spot plate “{name}” in {file} of {where} is for: {what}.").format(name=name, **told)


PLATE_REFUSALS: Mapping[str, Any] = {
    "no-plate": gettext_lazy("This is no plate of a finish that can be told of now. Look at its stage again."),
    "no-art-for-plate": gettext_lazy(
        "No art of this spread is approved yet, so the plate lies on nothing. Tell it once the art is approved."
    ),
}
