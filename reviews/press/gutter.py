"""The gutter as a reader will see it: the two halves of a picture beside the fold, as they meet once it is bound."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.press.flats import PanelKind
from reviews.press.placing import PlacedPicture

#: How far beside the gutter band is shown, so that it is seen what crosses it. Our own.
_BESIDE_MM = 12.0


@dataclass(frozen=True, kw_only=True)
class GutterMeeting:
    """Two strips of the trim in mm: each from ``left_mm``, ``width_mm`` wide, over the whole height.

    Between them ``loss_mm`` of each page is gone into the fold; ``band_mm`` of each strip lies in the gutter band.
    """

    left_mm: float
    right_mm: float
    width_mm: float
    height_mm: float
    loss_mm: float
    band_mm: float


def meeting(placed: PlacedPicture, loss_mm: float) -> GutterMeeting | None:
    """Lay the two halves beside a fold between pages against each other; None where there is no such fold.

    ``loss_mm`` is what each page loses in it.
    """
    flat = placed.flat
    folds = [
        right.left_mm
        for left, right in zip(flat.panels, flat.panels[1:], strict=False)
        if left.kind == right.kind == PanelKind.PAGE
    ]
    reach = min(flat.gutter_mm + _BESIDE_MM, flat.panels[0].width_mm)
    if not folds or not flat.gutter_mm or loss_mm >= reach:
        return None
    [fold] = folds[:1]
    return GutterMeeting(
        left_mm=round(fold - reach, 3),
        right_mm=round(fold + loss_mm, 3),
        width_mm=round(reach - loss_mm, 3),
        height_mm=flat.height_mm,
        loss_mm=loss_mm,
        band_mm=round(max(0.0, flat.gutter_mm - loss_mm), 3),
    )
