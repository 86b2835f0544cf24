"""What a comparison says in words: what to know before looking, each changed place, each note's place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext, gettext_lazy, ngettext

from reviews.imaging.changes.findings import ChangeLabel, NoteState, Verdict
from reviews.pages.wording.coded import Sentence, Values, said, split


def _n_places(values: Values) -> str:
    n = values["n"]
    return ngettext("{n} place to look at, heaviest first.", "{n} places to look at, heaviest first.", n).format(n=n)


def _n_unsure(values: Values) -> str:
    n = values["n"]
    return ngettext(
        "{n} more place may have changed, too faint to be sure of: look for yourself.",
        "{n} more places may have changed, too faint to be sure of: look for yourself.",
        n,
    ).format(n=n)


_SIDES = {
    "left": gettext_lazy("left"),
    "top": gettext_lazy("top"),
    "right": gettext_lazy("right"),
    "bottom": gettext_lazy("bottom"),
}


def _outside(words: Any, values: Values) -> str:
    """Say what lies outside the part that both show, and at which sides."""
    sides = [
        gettext("{pc} % at the {side}").format(pc=values[key], side=name) for key, name in _SIDES.items() if values[key]
    ]
    where = f" ({', '.join(sides)})" if sides else ""
    return str(words).format(area=values["area"], where=where)


def _no_longer_shown(values: Values) -> str:
    words = gettext("The new picture no longer shows {area} % of the earlier one{where}: nothing there was compared.")
    return _outside(words, values)


def _newly_shown(values: Values) -> str:
    words = gettext("{area} % of the new picture lies beyond the earlier one{where}: nothing there was compared.")
    return _outside(words, values)


def _nothing_found(values: Values) -> str:
    """Say what was looked for and how finely; every figure is the lower end of what was measured."""
    told = gettext(
        "No difference was found in the {shared} % of the earlier picture that was compared. That is no proof. In "
        "tests, of figures changed, gone or new at {from_mm} mm or larger at least {in_100} in 100 were noticed; of "
        "smaller ones at least {smaller_in_100} in 100. Inner details, and moves under 4 mm, are often missed."
    )
    return told.format(**values)


def _at_an_angle(values: Values) -> str:
    if values.get("straightened"):
        told = gettext(
            "The new picture looks photographed at an angle (corners off by up to {percent} % of the width). It was "
            "compared after straightening it; laid over the earlier one it only comes near. A scan would be surer."
        )
    else:
        told = gettext(
            "The new picture looks photographed at an angle: its corners are off by up to {percent} % of the width, "
            "and what is marked near them may be nothing else. Scan it, or photograph it straight from above."
        )
    return told.format(percent=values["percent"])


_OLDER = gettext_lazy(
    "No place was marked. How finely was looked was not kept then, so this does not say that nothing changed."
)
_REMARKS: dict[str, Sentence] = {
    "not-aligned": gettext_lazy(
        "The two pictures could not be laid on each other with any certainty, so they are shown side by side."
    ),
    "two-readings": gettext_lazy(
        "Two readings are possible: the whole page was moved, or its largest figure was. Look at both before "
        "you rely on what is marked."
    ),
    "check": gettext_lazy(
        "The pictures were laid on each other, but not surely. Check with the two faded over each other first."
    ),
    "redrawn-freely": gettext_lazy(
        "Redrawn freely (about {redraw_mm:.1f} mm from line to line): moves under {least_move_mm:.0f} mm are not shown."
    ),
    # What older comparisons claimed without evidence is not said again.
    "nothing-moved": _OLDER,
    "no-change": _OLDER,
    "nothing-found": _nothing_found,
    "nothing-marked": gettext_lazy("No place was marked. That does not say that nothing changed: look for yourself."),
    "turned": gettext_lazy(
        "The new picture is turned by {degrees}° to the right and was compared after turning it back."
    ),
    "mirrored": gettext_lazy("The new picture is mirrored, left for right. It was compared after mirroring it back."),
    "squeezed-across": gettext_lazy(
        "The new picture is {percent} % narrower for its height; it was compared after stretching it back."
    ),
    "squeezed-down": gettext_lazy(
        "The new picture is {percent} % lower for its width; it was compared after stretching it back."
    ),
    "negative": gettext_lazy("The new picture is a negative: light is dark. It was compared after turning that round."),
    "at-an-angle": _at_an_angle,
    "pattern-repeats": gettext_lazy(
        "A pattern repeats about every {mm} mm, so one picture may lie a whole repeat off. Fade them over each other "
        "first."
    ),
    "no-longer-shown": _no_longer_shown,
    "newly-shown": _newly_shown,
    "colours-not-compared": gettext_lazy(
        "The colours differ too much all over to tell what was coloured anew: only lines were compared."
    ),
    "n-places": _n_places,
    "n-unsure": _n_unsure,
    "touch-rates": gettext_lazy("How often these signs are wrong was not kept with this older comparison."),
    "touch-bounds": gettext_lazy(
        "On test drawings at least {changed_as_changed} in 100 changed places were called changed and at most "
        "{changed_as_unchanged} in 100 unchanged; of the unchanged places at most {unchanged_as_changed} in 100 were "
        "called changed."
    ),
    "plate-not-compared": gettext_lazy(
        "A plate shows only what is foiled or varnished, so it is not compared with the art."
    ),
    "lay-the-art": gettext_lazy("Overlay the art to see where the finish falls."),
    "art-beside-only": gettext_lazy(
        "The two are not known to show the same pages at one size, so the art can only be laid beside it."
    ),
}
_LABELS: dict[str, Any] = {
    "moved": gettext_lazy("Moved"),
    "changed": gettext_lazy("Drawn differently"),
    "removed": gettext_lazy("Gone"),
    "added": gettext_lazy("New"),
    "colour": gettext_lazy("Coloured differently"),
    "detail": gettext_lazy("Small detail changed"),
}
_LEAST_TURN_DEG = 5  # under this, what was found turned is hardly seen to be
# On the table a place has less room than in a list of its own.
_SHORT_LABELS: dict[str, Any] = _LABELS | {
    "colour": gettext_lazy("Another colour"),
    "detail": gettext_lazy("A small detail changed"),
}
_WHEREABOUTS: dict[NoteState, Any] = {
    "here": gettext_lazy("Its subject is where the page puts it."),
    "followed": gettext_lazy("Its subject was followed to where it is now."),
    "cannot-tell": gettext_lazy("Its subject was not found again; look for yourself."),
}
_VERDICTS: dict[Verdict, Any] = {
    "touched": gettext_lazy("Something changed here."),
    "untouched": gettext_lazy("No change found here."),
    "cannot-tell": gettext_lazy("Whether anything changed here cannot be told."),
}


def remark_sentence(coded: Mapping[str, Any]) -> str:
    """Say one remark on a comparison, ``{"code": "n-places", "n": 3}``."""
    return said(_REMARKS, *split(coded))


def change_sentence(
    label: ChangeLabel, vector_mm: tuple[float, float] | None, *, scale: float = 1.0, turn_deg: float = 0.0
) -> str:
    """Say one change in a line, with its move in tenths of a millimetre to the right and down."""
    words = str(_LABELS[label])
    if vector_mm is None:
        return _shape_words(scale, turn_deg) or words
    x, y = vector_mm
    across = gettext("{mm:.1f} mm to the right") if x > 0 else gettext("{mm:.1f} mm to the left")
    along = gettext("{mm:.1f} mm down") if y > 0 else gettext("{mm:.1f} mm up")
    return f"{words} {across.format(mm=abs(x))}, {along.format(mm=abs(y))}"


def note_sentence(state: NoteState, verdict: Verdict) -> str:
    """Say what was seen at one note: evidence, not a verdict on the person who drew."""
    return f"{_WHEREABOUTS[state]} {_VERDICTS[verdict]}"


def _shape_words(scale: float, turn_deg: float) -> str:
    """Say how a figure was turned and resized, in whole degrees and steps of 5 %; nothing where it was not."""
    turned, percent = round(turn_deg), 5 * round(20 * (scale - 1))
    turn = gettext("turned about {n}° to the right") if turned > 0 else gettext("turned about {n}° to the left")
    size = gettext("about {n} % larger") if percent > 0 else gettext("about {n} % smaller")
    parts = [turn.format(n=abs(turned))] if abs(turned) >= _LEAST_TURN_DEG else []
    parts += [size.format(n=abs(percent))] if percent else []
    words = gettext(" and ").join(parts)
    return words[:1].upper() + words[1:]


def change_words(
    label: str, vector_mm: tuple[float, float] | None, *, scale: float = 1.0, turn_deg: float = 0.0
) -> str:
    """Say one changed place in a few words; its move counts to the right and down, in whole millimetres."""
    words = str(_SHORT_LABELS.get(label, gettext("Changed")))
    if vector_mm is None:
        return _shape_words(scale, turn_deg) or words
    across, along = (round(part) for part in vector_mm)
    parts = []
    if across:
        parts.append((gettext("{n} mm to the right") if across > 0 else gettext("{n} mm to the left"), abs(across)))
    if along:
        parts.append((gettext("{n} mm down") if along > 0 else gettext("{n} mm up"), abs(along)))
    if not parts:
        return gettext("{moved} less than 1 mm").format(moved=words)
    return f"{words} {gettext(' and ').join(part.format(n=n) for part, n in parts)}"


def evidence_words(state: str, verdict: str, *, is_by_hand: bool) -> str:
    """Say what was seen where a note points: evidence, never an accusation."""
    if is_by_hand:
        return gettext("Its place here was shown by hand.")
    if state == "cannot-tell":
        return gettext("Cannot tell where this is now, or whether it changed.")
    seen = {
        "touched": gettext("A change was found here."),
        "untouched": gettext("No change was found here."),
    }.get(verdict, gettext("Cannot tell whether this changed."))
    return f"{gettext('It moved to here.')} {seen}" if state == "followed" else seen


def evidence_sign(state: str, verdict: str, *, is_by_hand: bool) -> str:
    """Sum up the same in one sign: ≠ a change was found, = none was, ? cannot tell; none where a person placed it."""
    if is_by_hand:
        return ""
    return {"touched": "≠", "untouched": "="}.get(verdict if state != "cannot-tell" else "", "?")


def place_letter(position: int) -> str:
    """Name the changed places A, B, … Z, AA, AB: letters, because numbers belong to notes. Counts from 0."""
    name = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
