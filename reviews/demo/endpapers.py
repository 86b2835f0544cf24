"""The endpapers: a scattered pattern of the book's small things, evening in front, dawn behind."""

from reviews.demo import company, props
from reviews.demo.marks import HOURS, Drawing, Scene, placed
from reviews.demo.openings import H, W
from reviews.demo.scenery import fern, lily, mushroom, sky
from reviews.demo.tansy import head


def endpapers(closing: bool = False) -> Scene:
    """Return the front (2-3) or the closing (30-31) ends."""
    hour = HOURS["dawn" if closing else "night"]
    things: list[tuple[Drawing, float]] = [
        (placed(props.pail(not closing), (0, -12)), 0.62), (company.moth(), 0.62), (placed(company.snail("shut" if closing else "open"), (0, 20)), 0.62), (props.moon(15, full=closing), 1.0),
        (placed(mushroom(34), (0, 14)), 0.9), (placed(lily(56), (0, 0)), 0.8), (props.star(9), 1.0), (head("shut" if closing else "glad"), 0.62)]
    marks = sky(W, H, hour, 250, 6, "ends")
    for row in range(5):
        for column in range(9):
            at = (14 + 60 * column + (30 if row % 2 else 0), 26 + 51 * row)
            thing, size = things[(column * 3 + row * 5 + (column // 4)) % len(things)]
            marks += placed(thing, at, size, turn=(-14, 8, 16, -6, 22)[(column + 2 * row) % 5], flip=(column + row) % 3 == 0)
            if (column + row) % 2:
                marks += fern((at[0] + 30, at[1] + 12), 18, -0.4 if row % 2 else 0.4, "#4f8a63", 0.0)
    return Scene("closing ends" if closing else "front ends", W, H, hour, marks)
