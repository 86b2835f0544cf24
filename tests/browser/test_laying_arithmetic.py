"""Laying one picture on another, in Chromium, against the same arithmetic of reviews.geometry."""

from dataclasses import asdict

import pytest

from reviews.geometry import Affine, Point
from tests.affine import inverse, similarity
from tests.browser.test_table_arithmetic import call, page  # noqa: F401

pytestmark = pytest.mark.browser
TURNED = similarity(0.93, 3.5, 0.04, -0.02)
SKEWED = Affine(1.02, 0.05, -0.01, -0.03, 0.97, 0.02)


@pytest.mark.parametrize("laying", [TURNED, SKEWED])
def test_points_are_carried_and_brought_back_as_geometry_does(page, laying):  # noqa: F811
    back = call(page, "table/compare-laying", "liftedFrom", asdict(laying))
    assert [back[key] for key in "abcdef"] == pytest.approx([getattr(inverse(laying), key) for key in "abcdef"])
    for x, y in [(0, 0), (1, 0.25), (0.5, 0.9)]:
        wanted = laying.apply(Point(x, y))
        found = call(page, "table/compare-laying", "laid", asdict(laying), [x, y])
        assert found == pytest.approx([wanted.x, wanted.y])
        assert call(page, "table/compare-laying", "laid", back, found) == pytest.approx([x, y])


def test_a_map_that_flattens_the_page_has_no_way_back(page):  # noqa: F811
    assert call(page, "table/compare-laying", "liftedFrom", asdict(Affine(1, 2, 0, 2, 4, 0))) is None


def test_the_css_matrix_puts_a_corner_where_the_map_says(page):  # noqa: F811
    after, sheet, scale, corner = {"width_px": 6600, "height_px": 3339}, {"width": 2048, "height": 1036}, 0.25, (31, 17)
    a, b, c, d, e, f = call(
        page, "table/compare-laying", "cssMatrix", asdict(TURNED), sheet, after, scale, {"x": corner[0], "y": corner[1]}
    )
    for x, y in [(0, 0), (1, 0), (1, 1), (0.3, 0.7)]:
        across, down = x * sheet["width"], y * sheet["height"]
        on_screen = (a * across + c * down + e, b * across + d * down + f)
        wanted = TURNED.apply(Point(x, y))
        assert on_screen == pytest.approx(
            (corner[0] + wanted.x * after["width_px"] * scale, corner[1] + wanted.y * after["height_px"] * scale)
        )


def area(ring: list[list[float]]) -> float:
    turned = zip(ring, ring[1:] + ring[:1], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in turned)) / 2


@pytest.mark.parametrize(
    ("corner", "shared", "strip"),
    [
        ((0.2, 0.0), 0.8, (0.1, 0.5)),
        ((0.0, -0.5), 0.5, (0.5, 0.75)),
        ((2.0, 0.0), 0.0, (0.5, 0.5)),
        ((0.0, 0.0), 1.0, None),
    ],
)
def test_what_a_laid_sheet_shares_with_the_page_is_cut_out_of_it(page, corner, shared, strip):  # noqa: F811
    x, y = corner
    ring = [[x, y], [x + 1, y], [x + 1, y + 1], [x, y + 1]]
    found = call(page, "table/compare-laying", "sharedRing", ring)
    assert area(found) == pytest.approx(shared)
    whole = [[0, 0], [1, 0], [1, 1], [0, 1]]
    if strip:
        assert call(page, "table/compare-laying", "stripOf", whole, found) == pytest.approx(strip)


def test_a_turned_sheet_shares_an_eight_sided_part(page):  # noqa: F811
    half = 0.5**0.5
    ring = [[0.5, 0.5 - half], [0.5 + half, 0.5], [0.5, 0.5 + half], [0.5 - half, 0.5]]
    found = call(page, "table/compare-laying", "sharedRing", ring)
    assert len(found) == 8
    assert area(found) == pytest.approx(2 * 2**0.5 - 2)
    assert area(call(page, "table/compare-laying", "sharedRing", ring[::-1])) == pytest.approx(2 * 2**0.5 - 2)


@pytest.mark.parametrize(("room", "is_above"), [((1000, 700), True), ((2600, 500), False)])
def test_beside_means_equally_large_clear_of_each_other_and_as_large_as_fits(page, room, is_above):  # noqa: F811
    picture = {"width_px": 3600, "height_px": 1800}
    laying = call(page, "table/compare-laying", "layingBeside", picture, picture, {"x": room[0], "y": room[1]})
    corners = [call(page, "table/compare-laying", "laid", laying, corner) for corner in ([0, 0], [1, 1])]
    (x0, y0), (x1, y1) = corners
    assert (x1 - x0, y1 - y0) == pytest.approx((1, 1))
    assert (y1 < 0) is is_above
    assert (x1 < 0) is not is_above


def test_only_the_tiles_in_sight_are_fetched_and_each_lies_on_its_own_place(page):  # noqa: F811
    words = """async ([laying, seen]) => {
      const { SheetTiles } = await import("/js/table/compare-tiles.js");
      const before = {width_px: 3600, height_px: 1821};
      return [...new SheetTiles({width: 2048, height: 1036}, before).wanted(laying, seen, 1)];
    }"""
    shifted = Affine(1, 0, 0.1, 0, 1, 0)
    # The board shows the middle tenth: on the shifted sheet that is x 1260 to 1620 and y 819 to 1002, in its pixels.
    tiles = page.evaluate(words, [asdict(shifted), [0.45, 0.45, 0.55, 0.55]])
    assert [path for path, _ in tiles] == [
        f"{x},{y},512,512/512,512/0/default.jpg" for y in (512,) for x in (1024, 1536)
    ]
    assert tiles[0][1] == {"left": 1024, "top": 512, "width": 512, "height": 512}
    everything = page.evaluate(words, [asdict(shifted), [-1, -1, 2, 2]])
    assert len(everything) == 8 * 4
    assert everything[-1][0] == "3584,1536,16,285/16,285/0/default.jpg"
