"""The endpapers: a scattered pattern of the book's small things, evening in front, dawn behind."""

from reviews.demo import company, props
from reviews.demo.curves import chance
from reviews.demo.growing import fern, mushroom, reeds
from reviews.demo.marks import HOURS, Drawing, Scene, placed
from reviews.demo.scenery import sky
from reviews.demo.staging import H, W
from reviews.demo.tansy import head


def endpapers(closing: bool = False) -> Scene:
    """Return the front (2-3) or the closing (30-31) ends."""
    hour = HOURS["dawn" if closing else "night"]
    marks = sky(W, H, hour, 250, 6, "ends")
    rng = chance("ends", closing)
    things = _things(closing)
    for row in range(4):
        for column in range(7):
            at = (38 + 76 * column + (38 if row % 2 else 0), 30 + 66 * row)
            marks += fern((at[0] + 34, at[1] + 44), 42, 0.5 if row % 2 else -0.5, "#4f8a63", 0.3)
            for _ in range(3):
                spot = (at[0] + float(rng.uniform(-38, 38)), at[1] + float(rng.uniform(-32, 32)))
                marks += placed(props.star(float(rng.uniform(1.6, 4.2))), spot, turn=float(rng.uniform(-20, 20)))
            thing, size = things[(column * 3 + row * 5) % len(things)]
            marks += placed(
                thing,
                (at[0] + rng.normal(0, 3), at[1] + rng.normal(0, 2)),
                size,
                turn=float(rng.uniform(-16, 16)),
                flip=(column + row) % 3 == 0,
            )
    return Scene("closing ends" if closing else "front ends", W, H, hour, marks)


def _things(closing: bool) -> list[tuple[Drawing, float]]:
    """Return the motifs and their sizes; in the morning the pail is empty, the moon whole, everybody asleep."""
    clump = placed(reeds((0, 0), 7, 52, HOURS["night"], "ends", 0.0, 24), (0, 24))
    return [
        (placed(props.pail(not closing), (0, -12)), 1.0),
        (company.moth(), 0.95),
        (placed(company.snail("shut" if closing else "open"), (0, 20)), 0.9),
        (props.moon(22, full=closing), 1.0),
        (placed(mushroom(50), (0, 22)), 0.9),
        (head("shut" if closing else "glad"), 0.95),
        (clump, 0.9),
        (placed(company.moth(1.1, company.MOTH_TINTS[2]), (0, 0)), 0.8),
    ]
