"""A photographed proof beside the art, in words: indicative only, and never that nothing differs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.press.seen_proof import (
    LARGE_CAST,
    LEAST_PLACE_MM,
    LEAST_SEEN_DE,
    LEAST_UNEVEN,
    ColourCast,
    NotSeen,
    SeenFound,
)

INDICATIVE = gettext_lazy(
    "Indicative only, not a measurement: a camera sees by its own light. Judge the proof itself under a D50 light, and "
    "colour by its measured control strip; the printer’s own specification wins."
)
_WHY_NOT: Mapping[NotSeen, Any] = {
    NotSeen.NOT_LAID: gettext_lazy(
        "The photograph could not be laid on the art: it shows something else, or too little. Nothing was compared."
    ),
    NotSeen.NOT_SURE: gettext_lazy(
        "It is not sure how the photograph lies on the art, so nothing was compared. Photograph the sheet flat, from "
        "straight above, whole and without reflections, or scan it."
    ),
    NotSeen.TOO_LITTLE: gettext_lazy(
        "The photograph shows less than three fifths of the art, so no overall cast can be told. Nothing was compared."
    ),
}
_NO_CAST = 1.5


def seen_lines(found: SeenFound) -> Iterator[str]:
    """Say what was seen, line by line; what was not found is no word for the proof."""
    if found.straightened:
        told = _("Photographed at an angle, by {percent:g} % of its width, and put straight to be compared.")
        yield told.format(percent=found.straightened)
    yield cast_words(found.cast)
    if found.cast.size >= LARGE_CAST:
        yield _("A cast this large may be the light or the camera, or the press: an ink too thin looks the same.")
    if found.uneven >= LEAST_UNEVEN:
        told = _(
            "Taken out as well, as uneven light: one side is lit by {percent:.0f} % more than another. A press that "
            "inks one side less looks the same."
        )
        yield told.format(percent=100 * found.uneven)
    yield _places_words(found) if found.places else _no_place_words()
    if found.seen_share < 0.98:
        told = _("The photograph shows {share:.0f} % of the art; of the rest nothing is known.")
        yield told.format(share=100 * found.seen_share)


def _places_words(found: SeenFound) -> str:
    n = len(found.places)
    told = ngettext(
        "{n} place still differs by more than {limit:g} (ΔE00) once the cast is taken out, by {worst:g} at most. It is "
        "hatched.",
        "{n} places still differ by more than {limit:g} (ΔE00) once the cast is taken out, by {worst:g} at most. They "
        "are hatched.",
        n,
    )
    return told.format(n=n, limit=LEAST_SEEN_DE, worst=found.worst_de)


def _no_place_words() -> str:
    told = _(
        "No place of {mm:g} mm or more was found that still differs by more than {limit:g} (ΔE00). That does not say "
        "that the proof matches: look for yourself."
    )
    return told.format(mm=LEAST_PLACE_MM, limit=LEAST_SEEN_DE)


def cast_words(cast: ColourCast) -> str:
    """Say what the overall cast was that was taken out."""
    parts = [
        (words[0] if value > 0 else words[1]).format(value=abs(value))
        for value, words in (
            (cast.lighter, (_("lighter by {value:g}"), _("darker by {value:g}"))),
            (cast.redder, (_("redder by {value:g}"), _("greener by {value:g}"))),
            (cast.yellower, (_("yellower by {value:g}"), _("bluer by {value:g}"))),
        )
        if abs(value) >= _NO_CAST
    ]
    if not parts:
        return _("No overall cast of {least:g} or more (CIELAB) was found in the photograph.").format(least=_NO_CAST)
    return _("Taken out, as an overall cast of the photograph: {parts} (CIELAB).").format(parts=", ".join(parts))


def not_seen_words(code: str) -> str:
    """Say why nothing could be told."""
    return str(_WHY_NOT[NotSeen(code)])


SEEN_PROOF_REFUSALS: Mapping[str, Any] = {
    "no-seen-proof": gettext_lazy(
        "This picture cannot be held against the art: it is no proof, it is not read yet, or no art is approved."
    ),
}
