"""The review table's own arithmetic, run where it will run: in Chromium, straight from static/js."""

import math
import mimetypes
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.template.defaultfilters import filesizeformat

from reviews.geometry import region_from_json
from reviews.imaging.results import PyramidFacts
from reviews.imaging.tiles.pyramid import tile_address

pytestmark = pytest.mark.browser
HERE = "http://table.test/"


def _answer(route: Any) -> None:
    path = route.request.url.removeprefix(HERE)
    found = finders.find(path) if path else None
    if not path:
        route.fulfill(content_type="text/html", body="<!doctype html><title>Table</title>")
    elif found is None:
        route.fulfill(status=404, body="")
    else:
        route.fulfill(content_type=mimetypes.guess_type(path)[0] or "", body=Path(found).read_text())


@pytest.fixture(scope="module")
def page(chromium: Any) -> Iterator[Any]:
    context = chromium.new_context()
    page = context.new_page()
    page.route("**/*", _answer)  # every address is answered from the checkout: nothing leaves the browser
    page.goto(HERE)
    yield page
    context.close()


def call(page: Any, module: str, function: str, *arguments: Any) -> Any:
    """Call one exported function and bring back what it returns."""
    words = "async ([m, f, a]) => (await import(`/js/${m}.js`))[f](...a)"
    return page.evaluate(words, [module, function, list(arguments)])


def geometry(page: Any, function: str, *arguments: Any) -> Any:
    return call(page, "table/note-geometry", function, *arguments)


def test_a_box_drawn_from_any_corner_is_stored_from_the_upper_left(page):
    for a, b in [((0.2, 0.1), (0.6, 0.5)), ((0.6, 0.5), (0.2, 0.1)), ((0.2, 0.5), (0.6, 0.1))]:
        assert geometry(page, "boxRegion", a, b) == {"kind": "box", "points": [[0.2, 0.1], [0.6, 0.5]]}


def test_a_mark_carried_off_the_picture_stops_at_its_edge(page):
    assert geometry(page, "pointRegion", [1.3, -0.2])["points"] == [[1, 0]]
    assert geometry(page, "boxRegion", [0.5, 0.5], [2, 2])["points"] == [[0.5, 0.5], [1, 1]]
    box = {"kind": "box", "points": [[0.7, 0.7], [0.9, 0.9]]}
    assert geometry(page, "moved", box, 0.5, -0.9)["points"] == [[0.8, 0], [1, 0.2]]


def test_every_mark_the_table_can_make_is_one_the_server_takes(page):
    path = [[0.5 + 0.3 * math.cos(i / 477), 0.5 + 0.4 * math.sin(i / 477)] for i in range(3000)]
    made = [
        geometry(page, "pointRegion", [0, 1]),
        geometry(page, "boxRegion", [1, 1], [1, 1]),
        geometry(page, "boxRegion", [0.33333333, 0.2], [0.33333334, 0.2]),
        geometry(page, "outlineRegion", path),
        geometry(page, "outlineRegion", path, 0),
        geometry(page, "resized", {"kind": "box", "points": [[0.1, 0.1], [0.2, 0.2]]}, -0.5, -0.5),
    ]
    for region in made:
        assert region_from_json(region).kind == region["kind"]


def test_an_outline_is_thinned_but_stays_within_its_tolerance(page):
    path = [[0.2 + i / 4000, 0.5 + 0.2 * math.sin(i / 80) + (0.1 if i > 1000 else 0)] for i in range(2000)]
    kept = geometry(page, "simplify", path, 0.002)
    assert 10 < len(kept) < 300
    assert kept[0] == path[0] and kept[-1] == path[-1]
    nearest = """async ([path, kept]) => {
      const { distanceToSegment } = await import("/js/table/note-geometry.js");
      const away = (point) => Math.min(...kept.slice(1).map((end, i) => distanceToSegment(point, kept[i], end)));
      return Math.max(...path.map(away));
    }"""
    away = page.evaluate(nearest, [path, kept])
    assert away <= 0.002


def test_a_dot_is_no_outline(page):
    assert geometry(page, "outlineRegion", [[0.5, 0.5], [0.5001, 0.5], [0.5, 0.5001]]) is None


def test_numbers_in_millimetres_come_back_as_the_same_place(page):
    box = {"kind": "box", "points": [[0.25, 0.5], [0.5, 0.75]]}
    numbers = geometry(page, "numbersOf", box, 506, 256)
    assert numbers == {"x": 126.5, "y": 128, "width": 126.5, "height": 64}
    assert geometry(page, "withNumbers", box, numbers, 506, 256) == box
    assert geometry(page, "withNumbers", box, {**numbers, "x": 253}, 506, 256)["points"] == [[0.5, 0.5], [0.75, 0.75]]


def test_a_flag_stands_on_the_highest_point_of_an_outline_and_says_where(page):
    outline = {"kind": "outline", "points": [[0.2, 0.5], [0.4, 0.1], [0.6, 0.6]]}
    assert geometry(page, "anchorOf", outline) == [0.4, 0.1]
    assert geometry(page, "placeWords", outline) == "in the middle"
    assert geometry(page, "placeWords", {"kind": "point", "points": [[0.9, 0.1]]}) == "top right"


@pytest.mark.parametrize(
    ("value", "is_one"),
    [
        ({"kind": "point", "points": [[0.1, 0.2]]}, True),
        ({"kind": "box", "points": [[0.1, 0.2]]}, False),
        ({"kind": "outline", "points": [[0.1, 0.2], [0.3, 0.4]]}, False),
        ({"kind": "point", "points": [["a", 0.2]]}, False),
        ({"kind": "ring", "points": [[0.1, 0.2]]}, False),
        (None, False),
    ],
)
def test_only_regions_are_drawn(page, value, is_one):
    assert geometry(page, "isRegion", value) is is_one


@pytest.mark.parametrize(("width", "height"), [(6075, 3041), (512, 512), (513, 511), (4200, 2103), (300, 200)])
def test_the_table_asks_for_the_tiles_that_the_engine_names(page, width, height):
    factors = [1]
    while max(width, height) > 512 * factors[-1]:
        factors.append(factors[-1] * 2)
    facts = PyramidFacts(width, height, 512, tuple(factors), 0)
    for factor in factors:
        for column in range(-(-width // (512 * factor))):
            for row in range(-(-height // (512 * factor))):
                asked = call(page, "table/picture-tiles", "tileAt", column, row, factor, width, height)
                assert asked["path"] == tile_address(facts, factor, column, row)
        assert call(page, "table/picture-tiles", "tileAt", width // factor, 0, factor, width, height) is None


def test_what_lies_on_a_sheet_scanned_askew_turns_with_it_about_the_middle_of_its_trim(page):
    turn, size = [90, 0.5, 0.25], (800, 400)
    assert call(page, "table/lying-askew", "turned", [400, 100], turn, *size) == pytest.approx([400, 100])
    assert call(page, "table/lying-askew", "turned", [500, 100], turn, *size) == pytest.approx([400, 200]), "clockwise"
    assert call(page, "table/lying-askew", "turned", [500, 100], None, *size) == [500, 100]


def test_the_level_fetched_is_never_blurred_while_a_sharper_one_exists(page):
    for zoom, factor in [(0, 1), (-1, 2), (-0.9, 1), (-2.7, 4), (-3, 8), (-9, 16), (2, 1)]:
        assert call(page, "table/picture-tiles", "factorFor", zoom, [1, 2, 4, 8, 16]) == factor


def test_print_size_is_print_size(page):
    mm_per_px = 506 / 6075
    zoom = call(page, "table/real-size", "zoomAtRealSize", mm_per_px, 1)
    # CSS has 96 px to the inch of 25.4 mm, so 506 mm are 1912.44 px wide.
    assert 6075 * 2**zoom == pytest.approx(506 / 25.4 * 96)
    assert call(page, "table/real-size", "shareOfRealSize", zoom, mm_per_px, 1) == pytest.approx(1)
    assert call(page, "table/real-size", "shareOfRealSize", zoom, mm_per_px, 1.25) == pytest.approx(0.8)


@pytest.mark.parametrize(("kept", "correction"), [("1.2", 1.2), ("", 1), ("nonsense", 1), ("0.1", 1), ("9", 1)])
def test_a_kept_correction_that_makes_no_sense_is_not_used(page, kept, correction):
    assert call(page, "table/real-size", "correctionFrom", kept) == correction


def test_pictures_change_places_and_never_get_lost(page):
    def after(at: int, to: int) -> str:
        return "".join(call(page, "hand-in/hand-in-order", "movedItem", list("abcd"), at, to))

    assert [after(0, 1), after(3, 0), after(1, 9), after(7, 0)] == ["bacd", "dabc", "acdb", "abcd"]


def test_a_hand_in_takes_twenty_pictures_and_says_which_wait(page):
    room = call(page, "hand-in/hand-in-order", "roomFor", ["a", "b", "c"], 18)
    assert room == {"taken": ["a", "b"], "left": ["c"]}


def test_the_size_of_a_fresh_file_is_told_as_the_page_tells_it_later(page):
    for n_bytes in (0, 1, 900, 1023, 1024, 10_240, 403_000, 803_840, 1_048_575, 1_048_576, 7_300_000, 480_000_000):
        assert call(page, "hand-in/hand-in-order", "sizeWords", n_bytes) == filesizeformat(n_bytes), n_bytes
