"""The same map on pictures that are none of our drawing: scikit-image's own samples, found where it is installed."""

from __future__ import annotations

from importlib.resources import files

import cv2
import numpy as np
import pytest

from reviews.imaging.changes.fields import prepare
from reviews.imaging.changes.registration import align
from tests.drawings import similarity

pytestmark = pytest.mark.slow

SAMPLES = ["coffee.png", "chelsea.png", "rocket.jpg"]


def sample(name: str) -> np.ndarray:
    picture = cv2.imread(str(files("skimage.data").joinpath(name)), cv2.IMREAD_COLOR)[..., ::-1]
    grow = 1400 / max(picture.shape)
    return cv2.resize(picture, None, fx=grow, fy=grow, interpolation=cv2.INTER_CUBIC)


def pencilled(picture: np.ndarray) -> np.ndarray:
    """Draw the picture in soft grey line: what is darker than its surroundings, on paper."""
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32)
    around = cv2.GaussianBlur(grey, (0, 0), 6)
    tone = np.clip(255 * grey / np.maximum(around, 1), 0, 255)
    return np.repeat(tone.astype(np.uint8)[..., None], 3, 2)


def placed(picture: np.ndarray, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the picture turned, resized and shifted at random within the range, and the map that did it."""
    rng = np.random.default_rng(seed)
    height, width = picture.shape[:2]
    turn, scale = rng.uniform(-5, 5), rng.uniform(0.85, 1.2)
    middle = np.array([(width - 1) / 2, (height - 1) / 2])
    shift = middle + rng.uniform(-0.06, 0.06, 2) * width
    to_b = similarity(1, 0, *shift) @ similarity(scale, turn, 0, 0) @ similarity(1, 0, *-middle)
    flags = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return cv2.warpAffine(picture, to_b[:2], (width, height), flags=flags, borderValue=(245, 243, 238)), to_b


@pytest.mark.parametrize(
    ("name", "medium"), [("coffee.png", "in pencil"), ("chelsea.png", "as it is"), ("rocket.jpg", "in pencil")]
)
def test_a_picture_by_others_is_laid_on_itself_moved(name, medium):
    a = sample(name)
    b, to_b = placed(a if medium == "as it is" else pencilled(a), SAMPLES.index(name) + 1)
    found = align(prepare(a), prepare(b))
    assert found.state in ("aligned", "check")
    height, width = a.shape[:2]
    corners = np.array([[0, 0, 1], [width, 0, 1], [width, height, 1], [0, height, 1]], float)
    apart = corners @ np.reshape(found.readings[0].a_to_b_px, (2, 3)).T - corners @ to_b[:2].T
    assert np.hypot(*apart.T).mean() < 0.003 * width


def test_two_different_pictures_by_others_are_refused():
    assert align(prepare(sample("coffee.png")), prepare(sample("chelsea.png"))).state == "not-aligned"
