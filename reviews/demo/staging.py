"""What most pictures share: the sky and far hills behind, the dark leaves in front, and Tansy on her feet."""

from collections.abc import Iterable

from reviews.demo import company, props
from reviews.demo.curves import Pair, chance, dots, ribbon, smooth
from reviews.demo.growing import lily, poplar
from reviews.demo.marks import Drawing, Hour, Mark, mixed, placed
from reviews.demo.poses import Pose
from reviews.demo.scenery import hill, sky
from reviews.demo.tansy import tansy

W, H = 506.0, 256.0  # a double page with its bleed


def standing(
    pose: Pose, foot: Pair, size: float, held: Drawing | None = None, flip: bool = False, turn: float = 0.0
) -> Drawing:
    """Return Tansy with the soles of her feet on a spot."""
    sole = max(pose.foot[1], pose.foot_behind[1]) + 3.5
    return placed(tansy(pose, held), (foot[0], foot[1] - sole * size), size, turn, flip)


def in_her_paws(lit: bool = True, tip: float = 4.0) -> Drawing:
    """Return the pail where the paws of a carrying pose are."""
    return placed(props.pail(lit, tip), (34, 34), 0.86)


def trees(where: Iterable[tuple[float, float]], ground: float, tint: str, plane: float = 0.75) -> Drawing:
    """Return far poplars: where each stands and how tall it is."""
    return [mark for x, tall in where for mark in placed(poplar(tall, tint, plane), (x, ground))]


def lilies(where: Iterable[tuple[float, float, float]], plane: float = 0.1) -> Drawing:
    """Return lily pads: x, y and width of each."""
    return [mark for x, y, wide in where for mark in placed(lily(wide, plane), (x, y))]


def stones(where: Iterable[tuple[float, float, float]], seed: str, tint: str = "#6d7d93") -> Drawing:
    """Return stones lying about: x, y and width of each."""
    return [m for x, y, wide in where for m in placed(props.stone(wide, wide * 0.5, f"{seed}{x}", tint), (x, y))]


def backdrop(
    hour: Hour, horizon: float, seed: str, ridge: str = "", stars: int = 70, clear: tuple[Pair, ...] = ()
) -> Drawing:
    """Return sky, stars and, where `ridge` gives the points of their top line, the farthest hills."""
    return [
        *sky(W, H, hour, horizon, seed=seed),
        *props.stars((8, 6, W - 8, horizon * 0.66), stars, seed, clear),
        *(hill(dots(ridge), hour.far, 0.85) if ridge else []),
    ]


def bough(x: float, y: float, reach: float, fill: str, seed: str, flip: bool = False) -> Drawing:
    """Return a leafy bough hanging into the picture from a top corner, dark against the sky."""
    rng = chance("bough", seed)
    way = -1 if flip else 1
    branch = [(x, y), (x + way * reach * 0.5, y + reach * 0.12), (x + way * reach, y + reach * 0.34)]
    marks: Drawing = [Mark(ribbon(branch, [8, 5, 1.5]), fill, 0.5, plane=-0.1)]
    for k in range(34):
        t = float(rng.uniform(0.08, 1.0))
        at = (x + way * reach * t, y + reach * (0.04 + 0.3 * t**1.6))
        turn = float(rng.uniform(20, 160))
        leaf = Mark(smooth(dots("0,0 6,-3.2 15,0 6,3.2")), mixed(fill, "#5c8a6a", 0.06 * (k % 4)), 0.35, plane=-0.1)
        marks += placed([leaf], at, float(rng.uniform(0.8, 1.4)), turn=turn if way > 0 else 180 - turn)
    return marks


def moths_round(pail: Pair, n: int, reach: float = 70, size: float = 0.52) -> Drawing:
    """Return some of the moth chorus in a ring above a pail."""
    ring = [(pail[0] + x, pail[1] - 26 + y) for x, y in props.lantern_moth_ring(reach)]
    return company.chorus(ring[:n], size)
