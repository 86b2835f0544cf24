"""Files for print: inks counted pixel by pixel against another engine, faults told, and clean files left in peace."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps

from reviews.imaging.print_check import check_for_print, inks_of
from reviews.imaging.proof import in_child, inks
from reviews.imaging.results import Refusal
from reviews.press.covers import Trim, single_page, spread
from reviews.press.file_check import FileFacts, FileFault, FileReport, InkFound, NotLooked, Weight, effective_ppi
from reviews.press.limits import INK_CONDITIONS, ArtKind, FileLimits

FLAT = spread(Trim(60, 40))  # 126 x 46 mm with its bleed: small, so that many files are quick
PPI = 300
SIZE = (round(126 / 25.4 * PPI), round(46 / 25.4 * PPI))
LIMITS = FileLimits(ink=INK_CONDITIONS["coated-fogra51"])
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def ink_art(seed: int, most: float) -> np.ndarray:
    """Paint soft CMYK art whose total never passes ``most`` per cent."""
    dice = np.random.default_rng(seed)
    small = dice.uniform(0, 255, (6, 12, 4)).astype(np.float32)
    art = np.asarray([np.asarray(Image.fromarray(small[..., n]).resize(SIZE, Image.BICUBIC)) for n in range(4)])
    art = np.clip(np.moveaxis(art, 0, -1), 0, 255)
    total = art.sum(-1, keepdims=True) / 255 * 100
    return np.floor(art * np.minimum(1, most / np.maximum(total, 1))).astype(np.uint8)


def saved(art: np.ndarray, path: Path, *, profile: bool = True, dpi: int = PPI) -> Path:
    mode = {4: "CMYK", 3: "RGB"}[art.shape[2]]
    # No free CMYK profile is at hand that Pillow could embed; the flag stands for the sRGB one of RGB files.
    extra = {"icc_profile": SRGB} if profile and mode == "RGB" else {}
    Image.fromarray(art, mode).save(path, compression="tiff_lzw", dpi=(dpi, dpi), **extra)
    return path


def looked_at(path: Path, art: ArtKind = ArtKind.TONE, **more) -> FileReport:
    found = check_for_print(path, FLAT, art, LIMITS, **more)
    assert not isinstance(found, Refusal), found
    return found[1]


def codes(report: FileReport) -> set[FileFault]:
    return {fault.code for fault in report.faults}


def test_the_highest_total_and_the_area_over_are_those_of_another_engine(tmp_path):
    """Pillow and numpy count the same file pixel by pixel, cell by cell."""
    art = ink_art(3, 280)
    art[100:400, 200:700] = (255, 255, 204, 153)  # 340 %
    path = saved(art, tmp_path / "art.tif")
    report = looked_at(path)
    (fault,) = [f for f in report.faults if f.code == FileFault.TOO_MUCH_INK]
    total = np.asarray(Image.open(path)).sum(-1).astype(float) / 255 * 100
    cell = round(LIMITS.speck_mm * SIZE[0] / 126)
    cells = [
        total[y : y + cell, x : x + cell]
        for y in range(0, total.shape[0], cell)
        for x in range(0, total.shape[1], cell)
    ]
    highest = max(c.mean() for c in cells)
    shares = [(c > 300.3).mean() for c in cells]
    area = sum(s for s in shares if s > 0.5) / len(cells)
    assert fault.values["highest"] == round(highest)
    assert fault.values["per_cent"] == pytest.approx(100 * area, abs=0.02)
    left, top, right, bottom = fault.places[0]
    assert (left * SIZE[0], top * SIZE[1]) == pytest.approx((200, 100), abs=cell)
    assert (right * SIZE[0], bottom * SIZE[1]) == pytest.approx((700, 400), abs=cell)


def test_specks_and_hairlines_over_the_limit_are_left_alone(tmp_path):
    art = ink_art(4, 250)
    dice = random.Random(4)
    for _ in range(400):
        y, x = dice.randrange(SIZE[1] - 6), dice.randrange(SIZE[0] - 6)
        art[y : y + 4, x : x + 4] = 255
    art[200:203] = 255
    assert FileFault.TOO_MUCH_INK not in codes(looked_at(saved(art, tmp_path / "art.tif")))


def test_exactly_the_limit_is_not_over_it(tmp_path):
    art = np.zeros((SIZE[1], SIZE[0], 4), np.uint8)
    art[..., :3] = 255
    assert FileFault.TOO_MUCH_INK not in codes(looked_at(saved(art, tmp_path / "art.tif")))
    art[..., 3] = 3
    assert FileFault.TOO_MUCH_INK in codes(looked_at(saved(art, tmp_path / "art.tif")))


def test_fine_line_of_four_inks_is_told_and_of_black_alone_is_not(tmp_path):
    art = np.zeros((SIZE[1], SIZE[0], 4), np.uint8)
    art[150:156, 100:900] = (180, 140, 120, 255)
    report = looked_at(saved(art, tmp_path / "rich.tif"))
    (fault,) = [f for f in report.faults if f.code == FileFault.THIN_FOUR_INK_BLACK]
    assert fault.weight == Weight.CAUTION and fault.places
    art[150:156, 100:900] = (0, 0, 0, 255)
    assert FileFault.THIN_FOUR_INK_BLACK not in codes(looked_at(saved(art, tmp_path / "plain.tif")))


def test_a_large_solid_of_rich_black_is_no_fine_line(tmp_path):
    """60/40/40/100 and its kin are what printers ask for in large solids."""
    art = np.zeros((SIZE[1], SIZE[0], 4), np.uint8)
    art[100:400, 100:900] = (153, 102, 102, 255)
    assert FileFault.THIN_FOUR_INK_BLACK not in codes(looked_at(saved(art, tmp_path / "solid.tif")))


def test_a_turned_picture_is_pointed_at_where_it_is_looked_at():
    box = (0.1, 0.2, 0.3, 0.4)
    picture = np.zeros((200, 100), np.uint8)
    picture[40:80, 10:30] = 255
    for orientation in range(1, 9):
        image = Image.fromarray(picture)
        image.getexif()[274] = orientation
        seen = np.asarray(ImageOps.exif_transpose(image))
        ys, xs = np.nonzero(seen)
        height, width = seen.shape
        expected = (xs.min() / width, ys.min() / height, (xs.max() + 1) / width, (ys.max() + 1) / height)
        assert in_child.turned(box, orientation) == pytest.approx(expected), orientation


@pytest.mark.parametrize(
    ("scale", "art", "code", "weight"),
    [
        (1.0, ArtKind.TONE, None, None),
        (0.7, ArtKind.TONE, FileFault.FEW_PIXELS, Weight.CAUTION),
        (0.45, ArtKind.TONE, FileFault.TOO_FEW_PIXELS, Weight.STOPPER),
        (1.0, ArtKind.LINE, FileFault.TOO_FEW_PIXELS, Weight.STOPPER),
        (1.0, ArtKind.MIXED, FileFault.FEW_PIXELS, Weight.CAUTION),
    ],
)
def test_resolution_is_asked_by_kind_of_art(tmp_path, scale, art, code, weight):
    size = (round(SIZE[1] * scale), round(SIZE[0] * scale))
    path = saved(np.zeros((*size, 4), np.uint8), tmp_path / "art.tif")
    found = {f.code: f.weight for f in looked_at(path, art).faults if "pixels" in f.code}
    assert found == ({code: weight} if code else {})


def test_effective_ppi_is_what_the_arithmetic_says():
    """3000 pixels over 10 inches are 300 ppi, and placed at 125 per cent 240 (arithmetic of every printer's guide)."""
    facts = FileFacts(3000, 3000, "RGB", 8, True)
    assert effective_ppi(facts, single_page(Trim(254, 254), bleed_mm=0)) == pytest.approx(300)
    assert effective_ppi(facts, single_page(Trim(317.5, 317.5), bleed_mm=0)) == pytest.approx(240)


def test_missing_bleed_and_wrong_proportions_are_two_things(tmp_path):
    trim = np.zeros((round(40 / 25.4 * PPI), round(120 / 25.4 * PPI), 4), np.uint8)
    assert FileFault.NO_BLEED in codes(looked_at(saved(trim, tmp_path / "trim.tif")))
    odd = np.zeros((SIZE[1], round(SIZE[0] * 0.8), 4), np.uint8)
    found = codes(looked_at(saved(odd, tmp_path / "odd.tif")))
    assert FileFault.WRONG_PROPORTIONS in found and FileFault.NO_BLEED not in found


def test_ink_of_a_file_without_inks_is_not_claimed(tmp_path):
    path = saved(np.full((SIZE[1], SIZE[0], 3), 90, np.uint8), tmp_path / "rgb.tif")
    report = looked_at(path)
    assert report.not_looked == (NotLooked.INK_OF_RGB,)
    assert codes(report) == {FileFault.RGB}


def test_a_profile_that_is_none_is_refused(tmp_path):
    path = saved(np.full((SIZE[1], SIZE[0], 3), 90, np.uint8), tmp_path / "rgb.tif")
    wrong = tmp_path / "wrong.icc"
    wrong.write_bytes(b"no profile at all")
    assert isinstance(check_for_print(path, FLAT, ArtKind.TONE, LIMITS, condition=wrong), Refusal)
    assert isinstance(check_for_print(path, FLAT, ArtKind.TONE, LIMITS, condition=tmp_path / "gone.icc"), Refusal)


@pytest.mark.slow
def test_forty_clean_files_raise_no_alarm_and_forty_faulty_ones_all_do(tmp_path):
    """Art from seeds used nowhere else; a clean file may still lack a profile, which Pillow cannot embed for CMYK."""
    for seed in range(500, 540):
        clean = ink_art(seed, 298)
        found = codes(looked_at(saved(clean, tmp_path / "clean.tif")))
        assert found <= {FileFault.NO_PROFILE}, (seed, found)
        dice = random.Random(seed)
        y, x = dice.randrange(SIZE[1] - 120), dice.randrange(SIZE[0] - 120)
        clean[y : y + dice.randrange(70, 120), x : x + dice.randrange(70, 120)] = (230, 230, 230, 200)  # 349 %
        assert FileFault.TOO_MUCH_INK in codes(looked_at(saved(clean, tmp_path / "faulty.tif"))), seed


def test_a_picture_cut_by_strips_is_measured_as_if_whole():
    """The same cells whether rows come 256 at a time or all at once."""
    dice = np.random.default_rng(9)
    art = (dice.random((700, 330, 4)) ** 3 * 255).astype(np.uint8)
    art[240:275, 20:300] = (200, 200, 200, 255)

    def measured(rows: int) -> inks.InkCells:
        strips, inks.STRIP_ROWS = inks.STRIP_ROWS, rows
        try:
            return inks.measure(lambda a, b: art[a:b], 330, 700, 11.8, limit=300, speck_mm=2, thin_mm=0.75)
        finally:
            inks.STRIP_ROWS = strips

    small, whole = measured(60), measured(100_000)
    assert np.allclose(small.over, whole.over) and np.allclose(small.thin, whole.thin)
    assert small.highest == pytest.approx(whole.highest)


def test_a_damaged_jpeg_that_was_accepted_before_is_still_measured(tmp_path):
    across = np.broadcast_to(np.linspace(0, 255, 1200), (900, 1200))
    soft = np.dstack([across, across[:, ::-1], across, across * 0]).astype(np.uint8)
    Image.fromarray(soft, "CMYK").save(tmp_path / "art.jpg", quality=90)
    whole = bytearray((tmp_path / "art.jpg").read_bytes())
    scan = whole.index(b"\xff\xda")
    for at in range(scan + 2_000, scan + 2_040):
        whole[at] ^= 0x5A
    (tmp_path / "art.jpg").write_bytes(whole)
    assert isinstance(inks_of(tmp_path / "art.jpg", 8.0, LIMITS), Refusal)
    assert isinstance(inks_of(tmp_path / "art.jpg", 8.0, LIMITS, is_strict=False), InkFound)
