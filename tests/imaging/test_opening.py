"""Every form the door takes gives the right pixels and facts, held against other readers where there are any."""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import asdict
from pathlib import Path

import numpy as np
import psd_tools
import pytest
import pyvips
from PIL import Image, ImageCms, ImageOps

from reviews.imaging.decode import check, examine, read_rgb
from reviews.imaging.files import icc
from reviews.imaging.results import PictureFacts, Refusal
from reviews.pages.wording.pictures import assumed_words
from tests.imaging.picture_files import (
    ALLOWED,
    GAMMA_1,
    QUARTERS,
    SIZE,
    far_from,
    lab_quarters,
    png_stating,
    psd_bytes,
    quarters,
    resource,
    rgb_planes,
    shades_of,
    srgb_profile,
)  # fmt: skip


def facts_of(path: Path) -> PictureFacts:
    found = check(path)
    assert isinstance(found, PictureFacts), found
    assert examine(path) == found, "the header alone must say the same"
    return found


def pixels_of(path: Path, longest_px: int = 4000) -> np.ndarray:
    rgb = read_rgb(path, longest_px)
    assert not isinstance(rgb, Refusal), rgb
    return rgb


@pytest.mark.parametrize("form", ALLOWED)
def test_each_allowed_form_is_opened_by_content_with_its_colours(form: str, tmp_path: Path) -> None:
    kind, allowed, write = ALLOWED[form]
    path = tmp_path / "nameless"
    write(path)
    facts = facts_of(path)
    assert facts.kind == kind
    assert facts.n_bytes == path.stat().st_size
    rgb = pixels_of(path)
    assert rgb.shape == (facts.height_px, facts.width_px, 3)
    if kind != "PDF":
        assert (facts.width_px, facts.height_px) == SIZE
    assert far_from(shades_of(rgb)) <= allowed


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_turns_are_applied_as_another_reader_applies_them(orientation: int, tmp_path: Path) -> None:
    path = tmp_path / "turned.jpg"
    exif = Image.Exif()
    exif[0x0112] = orientation
    quarters().save(path, "JPEG", quality=95, exif=exif)
    with Image.open(path) as again:
        wanted = np.asarray(ImageOps.exif_transpose(again))
    facts = facts_of(path)
    assert facts.orientation == orientation
    assert (facts.height_px, facts.width_px) == wanted.shape[:2]
    assert far_from(shades_of(pixels_of(path)), shades_of(wanted)) <= 3


def test_resolution_is_read_and_turned_with_the_picture(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    quarters().save(tmp_path / "a.jpg", "JPEG", exif=exif, dpi=(300, 150))
    facts = facts_of(tmp_path / "a.jpg")
    assert (facts.ppi_x, facts.ppi_y) == (150, 300)
    quarters().save(tmp_path / "b.png")
    quarters().save(tmp_path / "b.jpg")
    assert facts_of(tmp_path / "b.png").ppi_x is facts_of(tmp_path / "b.jpg").ppi_x is None
    quarters().save(tmp_path / "c.png", dpi=(72, 72))
    quarters().save(tmp_path / "c.jpg", dpi=(72, 72))
    assert [round(facts_of(tmp_path / name).ppi_x or 0) for name in ("c.png", "c.jpg")] == [72, 72]


def wide_profile() -> bytes:
    """A wide-gamut RGB profile that the library carries, which really changes the numbers."""
    picture = pyvips.Image.black(8, 8, bands=3).copy(interpretation="srgb")
    return picture.icc_transform("p3", input_profile="srgb").get("icc-profile-data")


def cmyk_profile() -> bytes:
    picture = pyvips.Image.black(8, 8, bands=3).copy(interpretation="srgb")
    return picture.icc_transform("cmyk", input_profile="srgb").get("icc-profile-data")


def by_another_engine(picture: Image.Image, profile: bytes) -> np.ndarray:
    """Convert with littleCMS through Pillow: relative colorimetric with black point compensation."""
    return np.asarray(ImageCms.profileToProfile(
        picture, ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB"), outputMode="RGB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC, flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    ))  # fmt: skip


def test_an_embedded_rgb_profile_is_honoured(tmp_path: Path) -> None:
    profile = wide_profile()
    quarters().save(tmp_path / "wide.png", icc_profile=profile)
    facts = facts_of(tmp_path / "wide.png")
    assert facts.assumed_profile is None
    assert facts.profile_name == icc.name_of(profile) != ""
    wanted = by_another_engine(quarters(), profile)
    assert far_from(shades_of(pixels_of(tmp_path / "wide.png")), shades_of(wanted)) <= 2
    assert far_from(shades_of(wanted)) > 8, "this profile must make a difference, or the test shows nothing"


ADOBE_RGB_XY = (31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)
CHRM = (b"cHRM", struct.pack(">8I", *ADOBE_RGB_XY))


def test_what_a_png_states_of_its_primaries_and_gamma_is_honoured_and_said(tmp_path: Path) -> None:
    # Adobe RGB (1998), annex A: these primaries under D65 and a gamma of 563/256.
    path = png_stating(tmp_path / "a.png", quarters(), CHRM, (b"gAMA", struct.pack(">I", round(1e5 * 256 / 563))))
    facts = facts_of(path)
    assert (facts.profile_name, facts.assumed_profile) == ("", "stated")
    assert far_from(shades_of(pixels_of(path)), shades_of(by_the_book(quarters()))) <= 3
    assert far_from(shades_of(by_the_book(quarters()))) > 8, "it must make a difference, or the test shows nothing"


def by_the_book(picture: Image.Image) -> np.ndarray:
    """Bring Adobe RGB to sRGB by their published matrices (to XYZ: Adobe RGB 4.3.5.3; from it: IEC 61966-2-1)."""
    light = (np.asarray(picture.convert("RGB"), float) / 255) ** (563 / 256)
    to_xyz = np.array([[0.57667, 0.18556, 0.18823], [0.29734, 0.62736, 0.07529], [0.02703, 0.07069, 0.99134]])
    from_xyz = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
    linear = np.clip(light @ (from_xyz @ to_xyz).T, 0, 1)
    return np.round(255 * np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def test_a_gamma_alone_is_honoured_in_grey_too(tmp_path: Path) -> None:
    half = Image.new("L", SIZE, 55)
    path = png_stating(tmp_path / "a.png", half, GAMMA_1)
    assert facts_of(path).assumed_profile == "stated"
    # Linear light of 55 in 255 is 128 by sRGB's own curve (IEC 61966-2-1).
    assert abs(float(np.median(pixels_of(path))) - 128) <= 2


@pytest.mark.parametrize(
    "chunks",
    [
        [(b"gAMA", struct.pack(">I", 45455))],
        [(b"sRGB", b"\x00"), GAMMA_1],
        [CHRM],
        [(b"gAMA", struct.pack(">I", 0))],
        [GAMMA_1, (b"cHRM", struct.pack(">8I", *([0] * 8)))],
    ],
)
def test_a_png_that_means_srgb_or_states_nonsense_is_shown_as_srgb(chunks, tmp_path: Path) -> None:
    path = png_stating(tmp_path / "a.png", quarters(), *chunks)
    assert facts_of(path).assumed_profile == "rgb"
    assert far_from(shades_of(pixels_of(path))) == 0


def test_an_embedded_profile_goes_before_what_a_png_states(tmp_path: Path) -> None:
    quarters().save(tmp_path / "plain.png", icc_profile=wide_profile())
    plain = pixels_of(tmp_path / "plain.png")
    data = (tmp_path / "plain.png").read_bytes()
    name, body = GAMMA_1
    chunk = struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
    (tmp_path / "both.png").write_bytes(data[:33] + chunk + data[33:])
    assert facts_of(tmp_path / "both.png").assumed_profile is None
    assert np.array_equal(pixels_of(tmp_path / "both.png"), plain)


@pytest.mark.parametrize("bands", [1, 3])
@pytest.mark.parametrize("has_profile", [False, True])
def test_floating_numbers_say_how_they_were_read(has_profile: bool, bands: int, tmp_path: Path) -> None:
    grey = np.full((40, 60, bands), 0.2140, np.float32)
    picture = pyvips.Image.new_from_array(grey).copy(interpretation="srgb" if bands == 3 else "b-w")
    if has_profile and bands == 3:
        picture = picture.copy()
        picture.set_type(pyvips.GValue.blob_type, "icc-profile-data", wide_profile())
    picture.tiffsave(str(tmp_path / "a.tif"))
    facts = facts_of(tmp_path / "a.tif")
    is_by_profile = has_profile and bands == 3
    assert facts.bits == 32
    assert facts.assumed_profile == ("floating-profile" if is_by_profile else "floating")
    # Linear light of 0.214 is half of sRGB's scale (IEC 61966-2-1); by a profile with its curve it stays 55 of 255.
    assert abs(float(np.median(pixels_of(tmp_path / "a.tif"))) - (55 if is_by_profile else 128)) <= 2
    assert "0 as black and 1 as white" in str(assumed_words(asdict(facts)))


def inks() -> Image.Image:
    """Four flat quarters of ink, black-heavy ones too, where black point compensation shows."""
    picture = Image.new("CMYK", SIZE)
    width, height = SIZE
    for ink, corner in zip(
        ((20, 180, 160, 10), (200, 60, 30, 40), (60, 50, 50, 230), (0, 0, 90, 0)),
        ((0, 0), (width // 2, 0), (width // 2, height // 2), (0, height // 2)), strict=True,
    ):  # fmt: skip
        picture.paste(ink, (*corner, corner[0] + width // 2, corner[1] + height // 2))
    return picture


@pytest.mark.parametrize("suffix", [".tif", ".jpg"])
def test_cmyk_with_a_profile_is_honoured_inverted_jpeg_too(suffix: str, tmp_path: Path) -> None:
    profile, path = cmyk_profile(), tmp_path / f"ink{suffix}"
    # Pillow writes a CMYK JPEG with Adobe's mark and inverted ink, as layout programs do.
    inks().save(path, icc_profile=profile, **({"quality": 98, "subsampling": 0} if suffix == ".jpg" else {}))
    facts = facts_of(path)
    assert (facts.mode, facts.assumed_profile) == ("CMYK", None)
    wanted = by_another_engine(inks(), profile)
    assert far_from(shades_of(pixels_of(path)), shades_of(wanted)) <= (6 if suffix == ".jpg" else 2)


def test_cmyk_without_a_profile_is_shown_on_a_stated_assumption(tmp_path: Path) -> None:
    inks().save(tmp_path / "bare.tif")
    facts = facts_of(tmp_path / "bare.tif")
    assert facts.profile_name == ""
    assert facts.assumed_profile == "cmyk"
    wanted = by_another_engine(inks(), cmyk_profile())
    assert far_from(shades_of(pixels_of(tmp_path / "bare.tif")), shades_of(wanted)) <= 2


def test_a_profile_of_another_colour_space_is_left_aside_and_said(tmp_path: Path) -> None:
    quarters().save(tmp_path / "odd.tif", icc_profile=cmyk_profile())
    facts = facts_of(tmp_path / "odd.tif")
    assert facts.assumed_profile == "rgb-misfit"
    assert far_from(shades_of(pixels_of(tmp_path / "odd.tif"))) == 0


def test_srgb_is_known_by_its_numbers_not_its_name() -> None:
    assert icc.is_srgb(srgb_profile())
    assert not icc.is_srgb(wide_profile())
    assert not icc.is_srgb(cmyk_profile())
    assert not icc.is_srgb(srgb_profile()[:100])


def test_grey_and_bilevel_are_opened(tmp_path: Path) -> None:
    quarters().convert("L").save(tmp_path / "grey.tif")
    quarters().convert("1", dither=Image.Dither.NONE).save(tmp_path / "line.tif", compression="group4")
    assert facts_of(tmp_path / "grey.tif").mode == "GREY"
    line = facts_of(tmp_path / "line.tif")
    assert (line.mode, line.bits) == ("BILEVEL", 1)
    wanted = np.asarray(quarters().convert("1", dither=Image.Dither.NONE).convert("RGB"))
    assert far_from(shades_of(pixels_of(tmp_path / "line.tif")), shades_of(wanted)) == 0


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "WEBP"])
def test_what_is_transparent_is_shown_over_white(kind: str, tmp_path: Path) -> None:
    clear = quarters().convert("RGBA")
    clear.putalpha(Image.fromarray(np.linspace(0, 255, SIZE[0], dtype=np.uint8)[None].repeat(SIZE[1], axis=0)))
    clear.save(tmp_path / "clear", kind, **({"lossless": True, "exact": True} if kind == "WEBP" else {}))
    paper = Image.new("RGBA", SIZE, (255, 255, 255, 255))
    wanted = np.asarray(Image.alpha_composite(paper, clear).convert("RGB"))
    rgb = pixels_of(tmp_path / "clear")
    assert np.abs(rgb.astype(int) - wanted).max() <= 2
    assert facts_of(tmp_path / "clear").mode == "RGBA"


def test_a_page_of_many_can_be_chosen(tmp_path: Path) -> None:
    blue = Image.new("RGB", SIZE, (10, 20, 200))
    quarters().save(tmp_path / "two.tif", save_all=True, append_images=[blue])
    assert facts_of(tmp_path / "two.tif").n_pages == 2
    second = read_rgb(tmp_path / "two.tif", 1000, page=1)
    assert not isinstance(second, Refusal)
    assert tuple(second[100, 100]) == (10, 20, 200)
    third = check(tmp_path / "two.tif", page=2)
    assert isinstance(third, Refusal)


def test_a_pdf_page_is_drawn_at_the_wished_resolution_with_its_boxes_kept(tmp_path: Path) -> None:
    from reportlab.pdfgen.canvas import Canvas

    path, mm = tmp_path / "page.pdf", 72 / 25.4
    canvas = Canvas(str(path), pagesize=(106 * mm, 56 * mm))
    canvas.setTrimBox((3 * mm, 3 * mm, 103 * mm, 53 * mm))
    canvas.setFillColorRGB(1, 0, 0)
    canvas.rect(0, 28 * mm, 53 * mm, 28 * mm, stroke=0, fill=1)
    canvas.showPage()
    canvas.save()
    facts = examine(path, ppi=254)
    assert isinstance(facts, PictureFacts)
    assert (facts.width_px, facts.height_px, facts.ppi_x) == (1060, 560, 254)
    trim = next(box for box in facts.page_boxes if box.name == "trim")
    assert (trim.left_mm, trim.bottom_mm, trim.right_mm, trim.top_mm) == pytest.approx((3, 3, 103, 53), abs=0.01)
    rgb = read_rgb(path, 2000, ppi=254)
    assert not isinstance(rgb, Refusal)
    assert [tuple(rgb[y, x]) for y, x in ((100, 100), (100, 900), (500, 100))] == [(255, 0, 0), (255,) * 3, (255,) * 3]


def layered(big: bool = False) -> bytes:
    document = psd_tools.PSDImage.new("RGB", SIZE)
    group = document.create_group(name="Night")
    for name in ("sky", "Möndchen"):
        layer = document.create_pixel_layer(quarters(), name=name)
        group.append(layer)
    document.create_pixel_layer(quarters(), name="line")
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def test_layer_names_are_those_another_reader_finds(tmp_path: Path) -> None:
    path = tmp_path / "layers.psd"
    path.write_bytes(layered())
    names = [layer.name for layer in psd_tools.PSDImage.open(path).descendants()]
    assert sorted(facts_of(path).layer_names) == sorted(names)
    assert len(names) == 4


def test_a_merged_psd_is_what_another_reader_sees(tmp_path: Path) -> None:
    random = np.random.default_rng(4)
    planes = random.integers(0, 256, (3, 61, 83), dtype=np.uint8)
    planes[:, :20] = planes[:, :20, :1]
    for compression in (0, 1):
        path = tmp_path / f"{compression}.psd"
        path.write_bytes(psd_bytes(planes, 3, compression=compression))
        with Image.open(path) as again:
            assert np.array_equal(pixels_of(path), np.asarray(again.convert("RGB")))


def test_what_is_transparent_in_a_psd_is_shown_over_white(tmp_path: Path) -> None:
    """Some programs leave any colour at all under full transparency."""
    clear = np.zeros((1, SIZE[1], SIZE[0]), np.uint8)
    clear[:, :, : SIZE[0] // 2] = 255
    minus_one_layer = struct.pack(
        ">IhiiiiH4s4sBBBBI", 62, -1, 0, 0, 0, 0, 0, b"8BIM", b"norm", 255, 0, 0, 0, 12
    ) + bytes(16)
    data = psd_bytes(np.concatenate([rgb_planes(), clear]), 3, layers=minus_one_layer)
    (tmp_path / "a.psd").write_bytes(data)
    assert facts_of(tmp_path / "a.psd").mode == "RGBA"
    white = (255, 255, 255)
    assert shades_of(pixels_of(tmp_path / "a.psd")) == [QUARTERS[0], white, white, QUARTERS[3]]


def test_psd_inks_and_lab_come_out_right(tmp_path: Path) -> None:
    planes = 255 - np.asarray(inks()).transpose(2, 0, 1)
    profile = cmyk_profile()
    (tmp_path / "ink.psd").write_bytes(psd_bytes(planes, 4, resources=resource(1039, profile)))
    wanted = by_another_engine(inks(), profile)
    assert far_from(shades_of(pixels_of(tmp_path / "ink.psd")), shades_of(wanted)) <= 2
    lab = lab_quarters().numpy()
    coded = np.stack([lab[..., 0] * 2.55, lab[..., 1] + 128, lab[..., 2] + 128]).round().astype(np.uint8)
    (tmp_path / "lab.psd").write_bytes(psd_bytes(coded, 9))
    assert far_from(shades_of(pixels_of(tmp_path / "lab.psd"))) <= 6


def test_a_psd_says_its_resolution(tmp_path: Path) -> None:
    at_300 = struct.pack(">IHHIHH", 300 << 16, 1, 2, 300 << 16, 1, 2)
    (tmp_path / "a.psd").write_bytes(psd_bytes(rgb_planes(), 3, resources=resource(1005, at_300)))
    facts = facts_of(tmp_path / "a.psd")
    assert (facts.ppi_x, facts.ppi_y) == (300, 300)


def test_a_picture_is_reduced_and_never_enlarged(tmp_path: Path) -> None:
    quarters().save(tmp_path / "a.png")
    assert pixels_of(tmp_path / "a.png", 320).shape == (200, 320, 3)
    assert pixels_of(tmp_path / "a.png", 9000).shape == (400, 640, 3)
    assert far_from(shades_of(pixels_of(tmp_path / "a.png", 100)), QUARTERS) <= 1
