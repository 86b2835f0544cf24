"""Where the demo book's words stand on their first spreads, as its editor placed them before the sketches."""

from collections.abc import Callable

from reviews.actions.text_blocks import set_text
from reviews.demo.briefs import BRIEFS
from reviews.demo.teller import Teller
from reviews.press.text_blocks import Face, TextAlign, TextBlock
from reviews.rules.states import Role

#: Left and top in mm and the colour, by piece. The dark words on pages 6–7 lie on night water: a fault to be found.
_PLACES = {
    "4-5": (25.0, 12.0, "#ffffff"),
    "6-7": (365.0, 124.0, "#1a1a1a"),
    "8-9": (25.0, 28.0, "#ffffff"),
    "10-11": (24.0, 24.0, "#1a1a1a"),
}


def text_placed() -> Callable[[Teller], None]:
    """Let the editor place the words of the briefs, in the house's size and leading."""

    def deed(tell: Teller) -> None:
        for piece, (left_mm, top_mm, colour) in _PLACES.items():
            block = TextBlock(
                number=0, words=BRIEFS[piece]["text"], language="en", face=Face.SERIF, size_pt=18.0, leading_pt=26.0,
                align=TextAlign.LEFT, colour=colour, left_mm=left_mm, top_mm=top_mm, width_mm=110.0, height_mm=24.0,
            )  # fmt: skip
            with tell.moment():
                spread = tell.passage(piece, "sketch").spread_id
                set_text(spread, [block], seen=0, actor=tell.seats[Role.EDITOR])

    return deed
