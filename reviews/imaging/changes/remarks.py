"""What a person should know of a comparison before looking, plainest first, as codes with figures.

That nothing was found is only said with its own evidence: surely aligned, nearly all of both compared, of two
paintings the colours too, no place that may be something, and how large what would have been seen must be.
"""

from __future__ import annotations

from reviews.imaging.changes.findings import ComparisonResult, Coverage, Media, Outside, Remark
from reviews.imaging.changes.measured import fineness

_LOOSE_MM = 1.5
# Shares of a picture: a strip without a line in it is no loss worth a word until it is wide.
_LEAST_IN_100 = 50  # who sees less than every second change has no evidence that there was none
_LINES_LOST, _AREA_LOST = 0.02, 0.08


def remarks_on(result: ComparisonResult) -> tuple[Remark, ...]:
    """Say what is to be known of a comparison: how it was aligned, how freely it was redrawn, how much changed."""
    state, shared = result.alignment.state, result.coverage
    if state == "not-aligned":
        return (Remark("not-aligned"),)
    out = [Remark(state)] if state != "aligned" else []
    out += result.oddities
    redraw_mm, least_move_mm = result.redraw_mm, result.least_move_mm
    if redraw_mm is not None and least_move_mm is not None and least_move_mm > _LOOSE_MM:
        out.append(Remark("redrawn-freely", {"redraw_mm": redraw_mm, "least_move_mm": least_move_mm}))
    if shared is not None:
        lost = (("no-longer-shown", shared.of_a), ("newly-shown", shared.of_b))
        out += [Remark(code, _strips(part)) for code, part in lost if _is_told(part)]  # type: ignore[arg-type]
    if _is_without_colours(result):
        out.append(Remark("colours-not-compared"))
    if result.changes:
        out.append(Remark("n-places", {"n": len(result.changes)}))
    elif result.media is not None and shared is not None and is_evident(result):
        out.append(Remark("nothing-found", _evidence(result.media, shared)))
    else:
        out.append(Remark("nothing-marked"))
    if result.unsure:
        out.append(Remark("n-unsure", {"n": len(result.unsure)}))
    return tuple(out)


def is_evident(result: ComparisonResult) -> bool:
    """Whether there is evidence that nothing was found: all that a clean sentence rests on."""
    shared = result.coverage
    is_all_seen = shared is not None and not (_is_told(shared.of_a) or _is_told(shared.of_b))
    if result.media is None or fineness(result.media)["in_100"] < _LEAST_IN_100:
        return False
    is_sure = result.alignment.state == "aligned" and not result.oddities and not _is_without_colours(result)
    return is_sure and is_all_seen and not result.changes and not result.unsure


def _is_without_colours(result: ComparisonResult) -> bool:
    """Whether two paintings were held against each other by their forms alone."""
    return result.media == "both-painted" and not result.is_colour_compared


def _is_told(part: Outside) -> bool:
    return part.lines >= _LINES_LOST or part.area >= _AREA_LOST


def _strips(part: Outside) -> dict[str, float]:
    """Return what lies outside, and how wide at each side, in per cent of the picture."""
    sides = {side: round(100 * getattr(part, side)) for side in ("left", "top", "right", "bottom")}
    return {"area": max(1, round(100 * part.area)), "lines": round(100 * part.lines), **sides}


def _evidence(media: Media, shared: Coverage) -> dict[str, float]:
    """Return the share compared (rounded down, in per cent) and how fine was looked."""
    return {"shared": int(100 * (1 - shared.of_a.area)), **fineness(media)}
