"""Spot plates: channels beyond the colours, by the names their file gives them, each as a sheet over the art."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import cv2
import numpy as np
import pytest
import tifffile

from reviews.imaging.decode import check, facts_from
from reviews.imaging.files.spot_plates import plates_of, resources_in
from reviews.imaging.plate_check import PlateLaid, plate_of
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import MOST_PLATES, PLATE_NAMES, Refusal
from reviews.pages.wording.pictures import assumed_words
from reviews.press.finish import FINISH_LIMITS, Finish, PlateFound
from tests.imaging.picture_files import SIZE, psd_bytes, quarters, rgb_planes
from tests.imaging.plate_files import CUT, FOIL, MASK, VARNISH, a_plate, channel_resources
from tests.imaging.test_meant_look import ONE_CLEAR_LAYER
from tests.imaging.test_opening import facts_of, pixels_of


def rendered(path: Path, folder: Path) -> list[np.ndarray]:
    """Make the renditions; gives the plates' sheets as (rows, columns, blue green red and ink)."""
    folder.mkdir(exist_ok=True)
    made = make_renditions(path, folder)
    assert not isinstance(made, Refusal), made
    return [cv2.imread(str(folder / name), cv2.IMREAD_UNCHANGED) for name in PLATE_NAMES if (folder / name).exists()]


def psd_with(path: Path, plates: list[np.ndarray], named: bytes, *, compression: int, is_clear: bool = False) -> Path:
    clear = [np.full(SIZE[::-1], 255, np.uint8)] if is_clear else []
    planes = np.concatenate([rgb_planes(), *(one[None] for one in (*clear, *plates))])
    layers = ONE_CLEAR_LAYER if is_clear else b""
    path.write_bytes(psd_bytes(planes, 3, compression=compression, resources=named, layers=layers))
    return path


@pytest.mark.parametrize("compression", [0, 1])
@pytest.mark.parametrize("is_clear", [False, True])
def test_the_plates_of_a_psd_bear_their_names_and_colours_and_lie_where_they_were_drawn(
    compression: int, is_clear: bool, tmp_path: Path
) -> None:
    named = channel_resources(VARNISH, FOIL)
    other = np.roll(a_plate(), 200, axis=0)
    plates = [a_plate(is_inverted=True), 255 - other]
    path = psd_with(tmp_path / "a.psd", plates, named, compression=compression, is_clear=is_clear)
    facts = facts_of(path)
    assert [plate.name for plate in facts.plates] == ["Spot varnish", "Goldfolie für Titel"]
    assert [plate.is_spot for plate in facts.plates] == [True, True]
    assert [plate.colour for plate in facts.plates] == ["#ff0080", "#ff9933"]
    first, second = rendered(path, tmp_path / "out")
    for sheet, wanted, colour in ((first, a_plate(), (128, 0, 255)), (second, other, (51, 153, 255))):
        assert np.array_equal(sheet[..., 3], wanted)
        assert tuple(sheet[0, 0, :3]) == colour


@pytest.mark.parametrize("lists_the_clear", [False, True])
def test_names_follow_their_plates_whether_or_not_the_transparency_is_named(lists_the_clear: bool) -> None:
    names = [("Transparency", MASK, (0, 0, 0, 0, 0))] * lists_the_clear + [VARNISH]
    found = plates_of(resources_in(channel_resources(*names)), 2, 0)
    assert [(one.name, one.channel) for one in found] == [("Spot varnish", 1)]


def test_a_tiff_that_a_drawing_program_wrote_names_its_plates_and_tells_a_mask(tmp_path: Path) -> None:
    path = tmp_path / "plates.tif"
    stored = np.dstack([np.asarray(quarters()), a_plate(), a_plate(is_inverted=True)])
    named = channel_resources(VARNISH, CUT)
    tifffile.imwrite(
        path, stored, photometric="rgb", planarconfig="contig", extrasamples=("unspecified",) * 2,
        extratags=[(34377, 7, len(named), named, True)],
    )  # fmt: skip
    facts = facts_of(path)
    assert [(plate.name, plate.is_spot) for plate in facts.plates] == [("Spot varnish", True), ("cut-out", False)]
    assert facts.mode == "RGB"
    # Either way round: ink is what covers less of the sheet.
    for sheet in rendered(path, tmp_path / "out"):
        assert np.array_equal(sheet[..., 3], a_plate())


def test_a_tiff_of_many_inks_names_them_itself(tmp_path: Path) -> None:
    path = tmp_path / "inks.tif"
    colours = 255 - np.asarray(quarters())
    stored = np.dstack([colours, np.zeros(SIZE[::-1], np.uint8), a_plate()])
    names = b"Cyan\0Magenta\0Yellow\0Black\0Copper foil\0"
    tifffile.imwrite(
        path, stored, photometric="separated", planarconfig="contig", extrasamples=("unspecified",),
        extratags=[(333, 2, len(names), names, True)],
    )  # fmt: skip
    facts = facts_of(path)
    assert facts.mode == "CMYK"
    assert [(plate.name, plate.channel) for plate in facts.plates] == [("Copper foil", 0)]
    assert (
        facts_from({**facts.__dict__, "plates": [plate.__dict__ for plate in facts.plates], "page_boxes": []}) == facts
    )


@pytest.mark.parametrize("form", [np.int8, np.int16, np.int32])
@pytest.mark.parametrize("goes_below", [False, True])
def test_numbers_with_a_sign_show_their_plate_and_their_art(form: type, goes_below: bool, tmp_path: Path) -> None:
    path, kind = tmp_path / "signed.tif", np.iinfo(form)
    art = np.asarray(quarters())
    least = kind.min if goes_below else 0
    share = np.dstack([art, a_plate()]).astype(np.float64) / 255
    stored = (least + share * (kind.max - least)).round().astype(form)
    tifffile.imwrite(path, stored, photometric="rgb", planarconfig="contig", extrasamples=("unspecified",))
    facts = facts_of(path)
    assert facts.assumed_profile == "signed"
    assert "whole numbers with a sign" in str(assumed_words(asdict(facts)))
    (sheet,) = rendered(path, tmp_path / "out")
    assert np.array_equal(sheet[..., 3], a_plate())
    # Seven bits and a sign have 128 steps for the 256 levels.
    assert np.abs(pixels_of(path).astype(int) - art).max() <= (2 if form is np.int8 and not goes_below else 0)


def test_a_plate_without_a_name_is_still_there_and_transparency_is_none(tmp_path: Path) -> None:
    path = tmp_path / "bare.tif"
    clear = np.full(SIZE[::-1], 255, np.uint8)
    stored = np.dstack([np.asarray(quarters()), clear, a_plate()])
    tifffile.imwrite(path, stored, photometric="rgb", planarconfig="contig", extrasamples=("unassalpha", "unspecified"))
    facts = facts_of(path)
    assert [(plate.name, plate.channel, plate.is_spot) for plate in facts.plates] == [("", 1, None)]
    (sheet,) = rendered(path, tmp_path / "out")
    assert np.array_equal(sheet[..., 3], a_plate())


def test_a_picture_without_plates_has_no_sheet(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    quarters().save(path)
    assert facts_of(path).plates == ()
    assert rendered(path, tmp_path / "out") == []


def test_a_turned_tiff_has_its_plates_turned_along(tmp_path: Path) -> None:
    path = tmp_path / "turned.tif"
    stored = np.dstack([np.asarray(quarters()), a_plate()])
    tifffile.imwrite(
        path, stored, photometric="rgb", planarconfig="contig", extrasamples=("unspecified",),
        extratags=[(274, 3, 1, 6, True)],
    )  # fmt: skip
    (sheet,) = rendered(path, tmp_path / "out")
    assert np.array_equal(sheet[..., 3], np.rot90(a_plate(), -1))


def test_broken_names_refuse_nothing_and_more_plates_than_are_shown_are_left_out(tmp_path: Path) -> None:
    whole = channel_resources(VARNISH, FOIL)
    for cut in range(0, len(whole), 7):
        found = plates_of(resources_in(whole[:cut]), 2, None)
        assert [one.channel for one in found] == [0, 1]
    assert len(plates_of({}, 40, None)) == MOST_PLATES
    assert plates_of({1006: b"\x05a\x00b\x1bc"}, 1, None)[0].name == "abc"
    named = whole.replace(b"8BIM", b"8BIM", 1)[:-9] + b"\xff" * 9
    path = psd_with(tmp_path / "a.psd", [a_plate(), a_plate()], named, compression=1)
    assert not isinstance(check(path), Refusal)


def measured(path: Path, channel: int) -> PlateFound | Refusal:
    """Measure a spot channel of a picture printed 400 mm wide, which is a pixel a millimetre."""
    facts = facts_of(path)
    box = (0.0, 0.0, float(facts.width_px), float(facts.height_px))
    laid = PlateLaid(plate=box, art=box, folds_mm=(), channel=channel)
    return plate_of(path, path, laid, FINISH_LIMITS[Finish.FOIL])


def test_a_plate_of_a_file_is_measured_as_the_sheet_shows_it_and_alone(tmp_path: Path) -> None:
    named = channel_resources(VARNISH, FOIL)
    larger = a_plate()
    larger[0:60, 0:60] = 255
    psd = psd_with(tmp_path / "a.psd", [a_plate(is_inverted=True), larger], named, compression=1, is_clear=True)
    turned = tmp_path / "turned.tif"
    tifffile.imwrite(
        turned, np.dstack([np.asarray(quarters()), a_plate(), larger]), photometric="rgb", planarconfig="contig",
        extrasamples=("unspecified",) * 2, extratags=[(34377, 7, len(named), named, True), (274, 3, 1, 6, True)],
    )  # fmt: skip
    for path in (psd, turned):
        channels = [plate.channel for plate in facts_of(path).plates]
        for channel, plate in zip(channels, (a_plate(), larger), strict=True):
            found = measured(path, channel)
            assert isinstance(found, PlateFound)
            assert found.area == pytest.approx((plate > 0).mean()) and found.tones == 0 and found.shift is None
            assert (found.width_px, found.height_px) == (facts_of(path).width_px, facts_of(path).height_px)


def test_a_channel_that_a_file_does_not_hold_is_not_measured(tmp_path: Path) -> None:
    path = psd_with(tmp_path / "a.psd", [a_plate()], channel_resources(VARNISH), compression=1)
    assert isinstance(measured(path, 5), Refusal)
