"""What a person should know of a comparison before looking, plainest first, as codes with figures."""

from __future__ import annotations

from reviews.imaging.changes.findings import ComparisonResult, Remark

_LOOSE_MM, _STILL_MM = 1.5, 1.0


def remarks_on(result: ComparisonResult) -> tuple[Remark, ...]:
    """Say what is to be known of a comparison: how it was aligned, how freely it was redrawn, how much changed."""
    state = result.alignment.state
    if state == "not-aligned":
        return (Remark("not-aligned"),)
    out = [Remark(state)] if state != "aligned" else []
    redraw_mm, least_move_mm = result.redraw_mm, result.least_move_mm
    if redraw_mm is not None and least_move_mm is not None and least_move_mm > _LOOSE_MM:
        out.append(Remark("redrawn-freely", {"redraw_mm": redraw_mm, "least_move_mm": least_move_mm}))
    if result.changes:
        out.append(Remark("n-places", {"n": len(result.changes)}))
    else:
        largest_mm = result.largest_move_mm
        is_still = largest_mm is not None and largest_mm <= _STILL_MM
        out.append(Remark("nothing-moved", {"at_most_mm": _STILL_MM}) if is_still else Remark("no-change"))
    return tuple(out)
