"""What is known of a figure that may have been turned or resized, by name: the inputs of its own score.

It is judged apart from other places: what tells it is not how much line is loose, but how much of it the motion found
explains, which in no other place is asked.
"""

from __future__ import annotations

import numpy as np

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.explained_lines import EXPLAINED_FEATURES
from reviews.imaging.changes.similar_figures import SimilarFigure

SIMILAR_FEATURES = (
    *EXPLAINED_FEATURES,
    "ncc",  # how alike its loose lines and where they were found
    "gain",  # and how much more than by any shift
    "strain",  # log of how plainly its lines go off together, where it was found by that
    "is_strained",
    "alike_more_strained",  # `alike_more` of such a one
    "lines_found_by",  # log of the mm of line it was found by
    "resized",  # how far from as it was
    "turned",
    "area",  # log of mm2
    "short",  # log of the shorter side
    "aspect",  # log of longer over shorter side
    "page_share",  # of all lines of the page without counterpart
    "looseness",  # of the hand, 1 to 3
    "to_paint",  # the media, 0 or 1
    "both_painted",
)


def similar_features(
    found: SimilarFigure, *, px_per_mm: float, page_share: float, looseness: float, painted: tuple[bool, bool]
) -> dict[str, float]:
    """Return what is known of a found figure, by the names of `SIMILAR_FEATURES`."""
    short, long = _sides_mm(found.old, px_per_mm)
    is_strained = float(found.strain > 0)
    return {
        **found.explained,
        "ncc": found.ncc,
        "gain": found.gain,
        "strain": float(np.log1p(found.strain)),
        "is_strained": is_strained,
        "alike_more_strained": found.explained["alike_more"] * is_strained,
        "lines_found_by": float(np.log1p(found.mass_mm)),
        "resized": abs(float(np.log(found.scale))),
        "turned": abs(found.turn_deg) / 45,
        "area": float(np.log1p(short * long)),
        "short": float(np.log1p(short)),
        "aspect": float(np.log((long + 2) / (short + 2))),
        "page_share": page_share,
        "looseness": looseness,
        "to_paint": float(painted[1] and not painted[0]),
        "both_painted": float(all(painted)),
    }


def _sides_mm(box: BoxPx, k: float) -> tuple[float, float]:
    short, long = sorted(((box[2] - box[0]) / k, (box[3] - box[1]) / k))
    return short, long
