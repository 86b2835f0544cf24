"""The gutter of a picture, enlarged: both halves as they will meet."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from reviews.models import Passage
from reviews.pages.wording.press import source
from reviews.pages.wording.print_set_up import length_words
from reviews.press.gutter import GutterMeeting, meeting
from reviews.press.placing import PlacedPicture
from reviews.press.set_up import PrintFigure, Unit
from reviews.queries.print_set_ups import print_of


@dataclass(frozen=True, kw_only=True)
class GutterShown:
    """Both halves, drawn in mm; ``picture`` is how it lies there: left, top, width, height."""

    halves: GutterMeeting
    picture: tuple[float, float, float, float]
    words: str

    @property
    def middle_mm(self) -> float:
        return self.halves.width_mm

    @property
    def view(self) -> str:
        return f"0 0 {2 * self.halves.width_mm:g} {self.halves.height_mm:g}"

    @property
    def band_mm(self) -> tuple[float, float]:
        """Say where the gutter band begins and ends, in what is drawn."""
        return self.middle_mm - self.halves.band_mm, self.middle_mm + self.halves.band_mm


def gutter_on(placed: PlacedPicture | None, passage: Passage) -> GutterShown | None:
    """Lay the halves of a picture against each other as its book is bound; None where no two pages meet on it."""
    if placed is None:
        return None
    loss = print_of(passage.book).value(PrintFigure.GUTTER_LOSS)
    halves = meeting(placed, loss.mm)
    if halves is None:
        return None
    told = _("Each page loses {loss} in the fold ({source}). The printer’s own figure goes into the print set-up.")
    nothing = _("Nothing is taken off for the fold ({source}). The printer’s own figure goes into the print set-up.")
    words = (told if loss.mm else nothing).format(loss=length_words(loss.mm, Unit.MM), source=source(loss.source))
    return GutterShown(
        halves=halves, picture=(placed.left_mm, placed.top_mm, placed.width_mm, placed.height_mm), words=words
    )
