"""Main colours: the space against published values, the clusters against pictures whose colours are known."""

import numpy as np
import pytest

from reviews.imaging.tiles.palette import MOST, main_colours, oklab_of, rgb_of

#: OKLab of white, red, lime, blue and black, as CSS Color Module Level 4 and the author of the space have them.
PUBLISHED = {
    (1.0, 1.0, 1.0): (1.0, 0.0, 0.0),
    (1.0, 0.0, 0.0): (0.62796, 0.22486, 0.12585),
    (0.0, 1.0, 0.0): (0.86644, -0.23389, 0.17950),
    (0.0, 0.0, 1.0): (0.45201, -0.03246, -0.31153),
    (0.0, 0.0, 0.0): (0.0, 0.0, 0.0),
}


@pytest.mark.parametrize(("rgb", "lab"), PUBLISHED.items())
def test_the_space_gives_the_published_values(rgb, lab):
    assert oklab_of(np.array([rgb]))[0] == pytest.approx(lab, abs=2e-4)


def test_there_and_back_is_the_same_colour():
    rgb = np.random.default_rng(7).random((200, 3))
    assert rgb_of(oklab_of(rgb)) == pytest.approx(rgb, abs=1e-6)


def stripes(*parts: tuple[tuple[int, int, int], int]) -> np.ndarray:
    return np.vstack([np.full((rows, 90, 3), rgb, np.uint8) for rgb, rows in parts])


def test_plain_colours_are_found_with_their_shares_dark_to_light():
    picture = stripes(((240, 230, 90), 16), ((20, 30, 80), 32), ((200, 40, 40), 16))
    found = main_colours(picture)
    assert [code for code, _ in found] == ["#141e50", "#c82828", "#f0e65a"]
    assert [share for _, share in found] == pytest.approx([0.5, 0.25, 0.25], abs=0.01)


def test_grain_does_not_make_more_colours_and_the_same_pixels_give_the_same():
    rng = np.random.default_rng(3)
    picture = np.clip(stripes(((60, 90, 60), 32), ((230, 220, 200), 32)) + rng.normal(0, 4, (64, 90, 3)), 0, 255)
    found = main_colours(picture.astype(np.uint8))
    assert len(found) == 2 and found == main_colours(picture.astype(np.uint8))


def test_a_picture_of_one_colour_has_one_and_a_rainbow_no_more_than_are_read_at_a_glance():
    assert main_colours(stripes(((7, 7, 7), 5))) == [("#070707", 1.0)]
    rainbow = np.random.default_rng(1).integers(0, 256, (64, 64, 3)).astype(np.uint8)
    found = main_colours(rainbow)
    assert 2 <= len(found) <= MOST and sum(share for _, share in found) == pytest.approx(1, abs=0.01)
    lightness = [
        oklab_of(np.array([[int(code[at : at + 2], 16) / 255 for at in (1, 3, 5)]]))[0, 0] for code, _ in found
    ]
    assert lightness == sorted(lightness)
