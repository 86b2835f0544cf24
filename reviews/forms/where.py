"""Fields for a place whose holidays are kept and for a time zone: chosen by name, kept by code."""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from zoneinfo import available_timezones

from django import forms

from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.calendars import (
    ASKS_PART,
    Place,
    known_places,
    parts_of,
    place_name,
    place_named,
    places_alike,
    zone_name,
)
from reviews.rules.states import Refused

#: Families of names that say the same again, or that no person calls a place.
_NO_PLACES = ("Etc", "SystemV", "posix", "right", "US", "Canada", "Brazil", "Chile", "Mexico")


def _offering(listed: str) -> forms.TextInput:
    return forms.TextInput(attrs={"list": listed, "autocomplete": "off", "spellcheck": "false"})


class PlaceField(forms.CharField):
    """A place from the list, typed or chosen by its name; its code will do, and nothing keeps no holidays."""

    def __init__(self, label: str, **kwargs: Any) -> None:
        own: dict[str, Any] = {"required": False, "max_length": 120, "widget": _offering("known-places")}
        super().__init__(label=label, **own | kwargs)

    def prepare_value(self, value: Any) -> Any:
        return place_name(value) if isinstance(value, str) else value

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        if not typed:
            return ""
        place = place_named(typed)
        if place is None and (alike := places_alike(typed)):
            places = "; ".join(one.name for one in alike)
            raise forms.ValidationError(sentence_for(Refused("place-is-several", place=typed, places=places)))
        if place is None:
            raise forms.ValidationError(sentence_for(Refused("unknown-place", place=typed)))
        if place.code in ASKS_PART:
            parts = "; ".join(part.name for part in parts_of(place.code))
            raise forms.ValidationError(sentence_for(Refused("place-needs-part", place=place.name, parts=parts)))
        return place.code


class ZoneField(forms.CharField):
    """A time zone from the list, named by a city in it."""

    def __init__(self, label: str, **kwargs: Any) -> None:
        own: dict[str, Any] = {
            "max_length": 80,
            "widget": _offering("known-zones"),
            "error_messages": {"required": "Choose the time zone in which a day ends: begin to type a city in it."},
        }
        super().__init__(label=label, **own | kwargs)

    def prepare_value(self, value: Any) -> Any:
        return zone_name(value) if isinstance(value, str) and value in available_timezones() else value

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        if not typed or typed in available_timezones():
            return typed
        wanted = typed.casefold()
        found = next((zone for zone, name in known_zones() if wanted in (name.casefold(), zone.casefold())), None)
        if found is None:
            raise forms.ValidationError(sentence_for(Refused("unknown-zone", zone=typed)))
        return found


@lru_cache(maxsize=1)
def known_zones() -> tuple[tuple[str, str], ...]:
    """List the time zones to offer with their names, in the order of the names."""
    zones = [zone for zone in available_timezones() if "/" in zone and zone.partition("/")[0] not in _NO_PLACES]
    return tuple(sorted(((zone, zone_name(zone)) for zone in [*zones, "UTC"]), key=lambda pair: pair[1]))


def offered() -> dict[str, tuple[Place, ...] | tuple[tuple[str, str], ...]]:
    """Give what the lists of these fields offer, for a page's context."""
    return {"places": tuple(one for one in known_places() if one.code not in ASKS_PART), "zones": known_zones()}
