"""What all idea options share: a plain night, one light, no more than a rough needs."""

from reviews.demo import props
from reviews.demo.curves import Pair
from reviews.demo.marks import HOURS, Drawing, Light, Scene, placed
from reviews.demo.scenery import sky
from reviews.demo.staging import H, W

NIGHT = HOURS["night"]
DIM = "#33505c"


def night_sky(seed: str, horizon: float = 150, n: int = 34) -> Drawing:
    """Return a sky with a few stars."""
    return [*sky(W, H, NIGHT, horizon, 6, seed), *props.stars((8, 6, W - 8, horizon * 0.7), n, seed)]


def rough(name: str, marks: Drawing, light: Pair = (253, 128)) -> Scene:
    """Return a double page at night."""
    return Scene(name, W, H, NIGHT, marks, Light(light, 150))


def in_arms(tip: float = 0) -> Drawing:
    """Return the pail as she carries it in the roughs."""
    return placed(props.pail(True, tip), (36, 42), 0.95)
