"""How the demo book is printed, as its printer tells production."""

from reviews.actions.plates import tell_plate
from reviews.actions.print_set_up import PrintChange
from reviews.models import Book, Passage, Picture, Seat
from reviews.press.finish import Finish, Metal, PlateWay
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.set_up import PaperBy, PaperTold, PrinterFigures
from reviews.queries.print_set_ups import seen_of

PRINTER = "Sedgewater Press"


def as_printed(book: Book) -> PrintChange:
    """Give the paper, by which the spine is known, and the printer; every other figure is its starting value."""
    return PrintChange(
        trim_width_mm=book.trim_width_mm,
        trim_height_mm=book.trim_height_mm,
        bleed_mm=book.bleed_mm,
        binding=BindingKind.CASE,
        ends=EndsKind.SELF,
        figures=PrinterFigures(),
        paper=PaperTold(PaperBy.WEIGHT, 150, 0.8, "Matt coated"),
        has_jacket=False,
        printer=PRINTER,
        keep_as=PRINTER,
        seen=seen_of(book),
    )


def tell_foil(passage: Passage, *, actor: Seat) -> None:
    """Tell that the plate of the cover is for gold foil, over the printed art."""
    plate = Picture.objects.get(hand_in__passage=passage, removed_at=None)
    tell_plate(plate.pk, finish=Finish.FOIL, way=PlateWay.OVERPRINT, metal=Metal.GOLD, actor=actor)
