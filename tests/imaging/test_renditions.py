"""Preview, thumb and tiles: sizes, places, one colour, one stored object read by spans."""

from __future__ import annotations

import io
import itertools
import json
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps, PngImagePlugin

from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PictureFacts, Refusal, Renditions
from reviews.imaging.tiles.pyramid import read_index, scale_factors, tile_address, tile_span
from tests.imaging.picture_files import QUARTERS, far_from, quarters, shades_of
from tests.imaging.test_opening import by_another_engine, cmyk_profile, inks

ODD = (1501, 1033)


def made_from(path: Path, out: Path, **options: object) -> Renditions:
    out.mkdir(exist_ok=True)
    made = make_renditions(path, out, **options)  # type: ignore[arg-type]
    assert not isinstance(made, Refusal), made
    return made


def gradient(size: tuple[int, int] = ODD) -> Image.Image:
    """A picture in which every place has its own colour: x is red, y is green."""
    across, down = np.meshgrid(np.linspace(0, 255, size[0]), np.linspace(0, 255, size[1]))
    return Image.fromarray(np.dstack([across, down, np.full_like(across, 90)]).astype(np.uint8))


def level_of(made: Renditions, scale: int) -> np.ndarray:
    """Put one level together from its tiles, each read by its span."""
    index, stored = read_index(made.index_file.read_bytes()), made.pyramid_file.read_bytes()
    facts = index.facts
    whole = np.zeros((-(-facts.height_px // scale), -(-facts.width_px // scale), 3), np.uint8)
    side = facts.tile_px * scale
    columns, rows = -(-facts.width_px // side), -(-facts.height_px // side)
    for column, row in itertools.product(range(columns), range(rows)):
        span = index.span(tile_address(facts, scale, column, row))
        assert span is not None
        tile = np.asarray(Image.open(io.BytesIO(stored[span.offset : span.offset + span.length])).convert("RGB"))
        top, left = row * facts.tile_px, column * facts.tile_px
        whole[top : top + tile.shape[0], left : left + tile.shape[1]] = tile
    return whole


def test_every_level_shows_the_whole_picture_in_its_place(tmp_path: Path) -> None:
    gradient().save(tmp_path / "a.png")
    made = made_from(tmp_path / "a.png", tmp_path / "out")
    assert made.pyramid.scale_factors == (1, 2, 4)
    for scale in made.pyramid.scale_factors:
        found = level_of(made, scale)
        columns, rows = np.meshgrid(np.arange(found.shape[1]), np.arange(found.shape[0]))
        # The middle of a pixel of this level, in the full picture's own colours.
        red = np.clip((columns + 0.5) * scale - 0.5, 0, ODD[0] - 1) / (ODD[0] - 1) * 255
        green = np.clip((rows + 0.5) * scale - 0.5, 0, ODD[1] - 1) / (ODD[1] - 1) * 255
        assert np.abs(found[..., 0] - red).mean() < 1.5
        assert np.abs(found[..., 1] - green).mean() < 1.5
        assert np.abs(found.astype(int)[..., 0] - red).max() < 8


def test_preview_and_thumb_fit_their_squares_and_are_never_enlarged(tmp_path: Path) -> None:
    gradient((4003, 1999)).save(tmp_path / "a.png")
    made = made_from(tmp_path / "a.png", tmp_path / "out")
    with Image.open(made.preview) as preview, Image.open(made.thumb) as thumb:
        assert preview.size == (2048, 1023)
        assert thumb.size == (480, 240)
        found = np.asarray(preview).astype(int)
    wanted = (np.arange(2048) + 0.5) / 2048 * 255
    assert np.abs(found[500, :, 0] - wanted).max() < 4
    gradient((300, 200)).save(tmp_path / "b.png")
    made = made_from(tmp_path / "b.png", tmp_path / "small")
    with Image.open(made.preview) as preview, Image.open(made.thumb) as thumb:
        assert preview.size == thumb.size == (300, 200)


def test_the_preview_is_told_before_the_tiles_are_made(tmp_path: Path) -> None:
    gradient((3000, 2000)).save(tmp_path / "a.png")
    told: list[tuple[str, bool, bool]] = []

    def heard(preview: Path, facts: PictureFacts) -> None:
        told.append((facts.kind, preview.stat().st_size > 0, (preview.parent / "pyramid.json").exists()))

    made_from(tmp_path / "a.png", tmp_path / "out", on_preview=heard)
    assert told == [("PNG", True, False)]
    assert sorted(each.name for each in (tmp_path / "out").iterdir()) == [
        "mini.jpg", "preview.jpg", "pyramid.json", "pyramid.zip", "thumb.jpg",
    ]  # fmt: skip


def test_who_hears_of_the_preview_may_take_it_and_its_thumb_away(tmp_path: Path) -> None:
    gradient((3000, 2000)).save(tmp_path / "a.png")

    def taken(preview: Path, facts: PictureFacts) -> None:
        for one in (preview, preview.with_name("thumb.jpg")):
            one.rename(tmp_path / one.name)

    assert made_from(tmp_path / "a.png", tmp_path / "out", on_preview=taken).colours
    assert (tmp_path / "out" / "mini.jpg").exists() and (tmp_path / "thumb.jpg").exists()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_preview_and_tiles_are_turned_alike(orientation: int, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    quarters((1100, 700)).save(tmp_path / "a.jpg", quality=95, exif=exif)
    made = made_from(tmp_path / "a.jpg", tmp_path / "out")
    with Image.open(tmp_path / "a.jpg") as original, Image.open(made.preview) as preview:
        wanted = np.asarray(ImageOps.exif_transpose(original))
        assert far_from(shades_of(np.asarray(preview)), shades_of(wanted)) <= 4
    assert level_of(made, 1).shape == wanted.shape
    assert far_from(shades_of(level_of(made, 1)), shades_of(wanted)) <= 4


def test_preview_and_tiles_of_ink_have_one_colour(tmp_path: Path) -> None:
    inks().resize((2600, 1600), Image.Resampling.NEAREST).save(
        tmp_path / "ink.tif", compression="tiff_lzw", icc_profile=cmyk_profile()
    )
    made = made_from(tmp_path / "ink.tif", tmp_path / "out")
    with Image.open(made.preview) as preview:
        shown = shades_of(np.asarray(preview))
    assert far_from(shown, shades_of(by_another_engine(inks(), cmyk_profile()))) <= 4
    for scale in made.pyramid.scale_factors:
        assert far_from(shades_of(level_of(made, scale)), shown) <= 3


def test_a_picture_too_large_to_hold_is_set_aside_in_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    size = (7000, 5200)
    assert size[0] * size[1] * 3 > 96 << 20
    quarters(size).save(tmp_path / "a.tif", compression="tiff_lzw")
    made = made_from(tmp_path / "a.tif", tmp_path / "out")
    assert far_from(shades_of(level_of(made, 4))) <= 3
    assert far_from(shades_of(level_of(made, 1))) <= 3
    assert made.peak_bytes < 350 << 20


def test_the_pyramid_is_an_ordinary_zip_with_its_description(tmp_path: Path) -> None:
    gradient().save(tmp_path / "a.png")
    made = made_from(tmp_path / "a.png", tmp_path / "out")
    with zipfile.ZipFile(made.pyramid_file) as pack:
        assert pack.testzip() is None
        assert {member.compress_type for member in pack.infolist()} == {zipfile.ZIP_STORED}
        described = json.loads(pack.read("info.json"))
        name = tile_address(made.pyramid, 2, 1, 0)
        index = made.index_file.read_bytes()
        span = tile_span(index, name)
        assert span is not None
        stored = made.pyramid_file.read_bytes()
        assert pack.read(name) == stored[span.offset : span.offset + span.length]
    assert (described["width"], described["height"], described["profile"]) == (*ODD, "level0")
    assert described["tiles"] == [{"width": 512, "scaleFactors": [1, 2, 4]}]
    assert tile_span(index, "full/376,259/0/default.jpg") == tile_span(index, tile_address(made.pyramid, 4, 0, 0))
    assert tile_span(index, "../../etc/passwd") is None
    assert made.pyramid.n_tiles == 3 * 3 + 2 * 2 + 1


def test_the_same_picture_gives_the_same_bytes(tmp_path: Path) -> None:
    quarters((1500, 900)).save(tmp_path / "a.jpg", quality=90)
    one, two = (made_from(tmp_path / "a.jpg", tmp_path / name) for name in ("one", "two"))
    for name in ("preview.jpg", "thumb.jpg", "pyramid.zip", "pyramid.json"):
        assert (one.preview.parent / name).read_bytes() == (two.preview.parent / name).read_bytes()


@pytest.mark.parametrize(
    ("width", "height", "scales"),
    [
        (1, 1, (1,)),
        (512, 512, (1,)),
        (513, 512, (1, 2)),
        (1024, 1025, (1, 2, 4)),
        (13_200, 6_600, (1, 2, 4, 8, 16, 32)),
    ],
)
def test_levels_go_on_until_one_tile_holds_all(width: int, height: int, scales: tuple[int, ...]) -> None:
    assert scale_factors(width, height) == scales


@pytest.mark.parametrize("size", [(1, 1), (1, 700), (700, 1), (513, 513), (2, 3)])
def test_odd_sizes_work(size: tuple[int, int], tmp_path: Path) -> None:
    Image.new("RGB", size, QUARTERS[0]).save(tmp_path / "a.png")
    made = made_from(tmp_path / "a.png", tmp_path / "out")
    for scale in made.pyramid.scale_factors:
        assert np.abs(level_of(made, scale).astype(int) - QUARTERS[0]).max() <= 2


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_nothing_that_a_camera_or_a_program_wrote_into_a_file_is_in_what_is_shown_of_it(kind, tmp_path: Path) -> None:
    secret, path = b"the otter's own address", tmp_path / f"a.{kind.lower()}"
    exif, about = Image.Exif(), PngImagePlugin.PngInfo()
    exif[0x010E] = exif[0x013B] = secret.decode()  # description, artist
    exif.get_ifd(0x8825)[0x001D] = secret.decode()  # in the place's own block
    about.add_text("Author", secret.decode())
    about.add_itxt("XML:com.adobe.xmp", f"<x>{secret.decode()}</x>")
    more = {"JPEG": {"comment": secret, "xmp": secret}, "PNG": {"pnginfo": about}, "WEBP": {"xmp": secret}}
    gradient().save(path, kind, exif=exif, **more.get(kind, {}))
    assert path.read_bytes().count(secret) >= 2, "it was there to be kept"
    made = made_from(path, tmp_path / "out")
    for shown in (made.preview, made.thumb, made.index_file, made.pyramid_file):
        assert secret not in shown.read_bytes(), shown.name
        assert b"Exif" not in shown.read_bytes()
