"""Stoppers in words: what is wrong with a file or a plate, and what was taken on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from reviews.pages.wording import plates, press
from reviews.press.file_check import FileFault, FoundFault, Weight
from reviews.press.finish import FINISH_LIMITS, Finish, FoundPlateFault, PlateFault
from reviews.queries.stoppers import CHANNEL, PLATE
from reviews.rules.entries import Entry


def fault_words(fault: FoundFault | FoundPlateFault) -> str:
    """Say what is wrong with a file or a plate; a plate's values name its finish, and the spot channel it is."""
    if not isinstance(fault, FoundPlateFault):
        return press.fault(fault)
    is_channel = "channel" in fault.values
    words = plates.fault(fault, FINISH_LIMITS[Finish(fault.values["finish"])], is_channel=is_channel)
    if not is_channel:
        return words
    name = plates.spot_name(fault.values["plate"], fault.values["number"])
    return _("Spot plate “{name}”: {words}").format(name=name, words=words)


def fault_taken(code: str, values: Mapping[str, Any]) -> str:
    """Say which fault was taken on, with its figures then."""
    if not values:
        return _("a fault whose figures were not kept")
    if code.startswith(PLATE):
        return fault_words(FoundPlateFault(PlateFault(code.removeprefix(PLATE).partition(CHANNEL)[0]), dict(values)))
    return fault_words(FoundFault(FileFault(code), Weight.STOPPER, dict(values)))


def taken_before(code: str, values: Mapping[str, Any], name: str) -> str:
    """Say what somebody took on before it became worse; their name does not stand under what it is now."""
    told = _("It became worse: {name} took on “{words}” As it is now it is not taken on.")
    return told.format(name=name, words=fault_taken(code, values))


def take_on_fault_sentence(entry: Entry) -> str:
    """Tell who takes on which stopper, and why."""
    data = entry.data
    told = _("{by} takes on for {where}, in {file}: “{fault}” Reason: {reason}")
    return told.format(
        by=entry.by, where=data["where"], file=data["file_name"], fault=fault_taken(data["code"], data["values"]),
        reason=data["reason"],
    )  # fmt: skip
