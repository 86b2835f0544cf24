"""What is said of how a printer's sheet is laid on its trim."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.press.placing import LaidBy, PlacedPicture
from reviews.press.proof_sheet import NotLaid

_SAID_TURN_DEG = 0.05
_SAID_SCALE = 0.005

NOT_LAID: Mapping[NotLaid, Any] = {
    NotLaid.NOT_LOOKED: gettext_lazy(
        "This is the printer’s whole sheet, so the trim is not drawn on it: its marks are still to be looked for."
    ),
    NotLaid.NOT_READ: gettext_lazy(
        "This is the printer’s whole sheet, so the trim is not drawn on it: the file could not be read for its marks."
    ),
    NotLaid.NO_MARKS: gettext_lazy(
        "This is not the page cut to size, and neither a trim box nor trim marks were found on it: "
        "the trim is not drawn."
    ),
    NotLaid.OTHER_SHAPE: gettext_lazy(
        "A trim box or trim marks were found, around another shape than this piece has by the print set-up: "
        "the trim is not drawn. Ask the printer which is right."
    ),
    NotLaid.SEVERAL: gettext_lazy(
        "Trim marks were found around more than one page of this shape, and which is meant nobody says: "
        "the trim is not drawn."
    ),
}


def laid_words(lying: PlacedPicture | NotLaid, *, was_looked_at: bool, scale: float | None) -> str:
    """Say by what a printer's sheet is laid on the trim, or why it is not.

    ``scale`` is the size of the page on the sheet, 1 as it should be; None where the file states none to go by.
    """
    if isinstance(lying, NotLaid):
        return str(NOT_LAID[lying])
    if lying.laid_by == LaidBy.EDGES:
        return _("Taken for the page itself by its shape: no trim marks were found.") if was_looked_at else ""
    parts = [_("Laid on the trim by the file’s trim box.") if lying.laid_by == LaidBy.BOX else _by_marks(lying)]
    if abs(lying.turn_deg) >= _SAID_TURN_DEG:
        parts.append(_("The sheet lies {turn:.1f}° askew, and the guides with it.").format(turn=abs(lying.turn_deg)))
    if scale is not None and abs(scale - 1) > _SAID_SCALE:
        parts.append(_("It shows the page at {scale:.1f} % of its size.").format(scale=100 * scale))
    return " ".join([*parts, _("The printed marks win.")])


def _by_marks(lying: PlacedPicture) -> str:
    words = ngettext(
        "Laid on the trim by its trim marks, found at %(n)d corner.",
        "Laid on the trim by its trim marks, found at %(n)d corners.",
        lying.n_corners,
    )
    return words % {"n": lying.n_corners}
