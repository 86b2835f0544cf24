"""Soft proofs: pixel by pixel against a second colour engine, what lies outside the inks, what is never said."""

from __future__ import annotations

import json
import struct
import subprocess
import tracemalloc
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
import pyvips
from PIL import Image

from reviews.imaging.files.colour import Colour
from reviews.imaging.files.icc import name_of, printing_fault
from reviews.imaging.proof import soft
from reviews.imaging.results import Refusal
from reviews.imaging.soft_proof import soft_proof_of
from reviews.pages.wording.pictures import assumed_words as assumed_on_table
from reviews.pages.wording.soft_proofs import assumed_words, outside_words
from reviews.press.soft_proof import LEAST_DE, NotProofed, ProfileFault, Rendering, SoftChoice, SoftFound
from tests.servers import program

TOOLS = Path(__file__).parents[2] / ".ci" / "scripts" / "node_modules"
PRESS = pyvips.Image.profile_load("cmyk")
SRGB = pyvips.Image.profile_load("srgb")
CHOICE = SoftChoice(profile_sha256="0" * 64, rendering=Rendering.RELATIVE, has_black_point=True, shows_paper=True)
WAYS = [
    (rendering, bpc, paper)
    for rendering in Rendering
    for bpc in (False, True)
    for paper in (False, True)
    if not (bpc and rendering in {Rendering.ABSOLUTE, Rendering.OWN_INKS})
]


@pytest.fixture(scope="module")
def profiles(tmp_path_factory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("profiles")
    (folder / "press.icc").write_bytes(PRESS)
    (folder / "screen.icc").write_bytes(SRGB)
    return {
        "source": str(folder / "screen.icc"),
        "proof": str(folder / "press.icc"),
        "screen": str(folder / "screen.icc"),
    }


def drawn(path: Path, pixels: np.ndarray, mode: str, profile: bytes | None = None) -> Path:
    Image.fromarray(pixels, mode).save(path, icc_profile=profile)
    return path


def second_engine(profiles: dict[str, str], colours: np.ndarray, steps: list[dict], folder: Path) -> np.ndarray:
    """Convert (rows, columns, channels) uint8 by a colour engine that shares no code with ours."""
    program("node", package="nodejs")
    if not (TOOLS / "jscolorengine").is_dir():
        program("jscolorengine", package="npm, then run npm ci --prefix .ci/scripts")
    request = folder / "request.json"
    request.write_text(json.dumps({"profiles": profiles, "pixels": (colours / 255).ravel().tolist(), "steps": steps}))
    script = Path(__file__).with_name("second_engine.cjs")
    run = ["node", str(script), str(request), str(TOOLS)]
    done = subprocess.run(run, capture_output=True, text=True, check=True)
    return np.array(json.loads(done.stdout)).reshape(*colours.shape[:2], 3).clip(0, 1) * 255


@pytest.mark.slow
def test_every_way_of_showing_agrees_with_a_second_engine_pixel_by_pixel(profiles, tmp_path):
    """Colours at random, harder than any picture: half within 0.4 of a level of 255, 99 of 100 within 6.

    The rest, up to 17 in 18,432 values a way, is where the tables are steepest: ours reads them by a grid of its own.
    """
    dice = np.random.default_rng(3)
    rgb, inks = (dice.integers(0, 256, (48, 128, n), dtype=np.uint8) for n in (3, 4))
    for rendering, bpc, paper in WAYS:
        own = rendering == Rendering.OWN_INKS
        source = soft.source_of(inks if own else rgb, Colour("CMYK" if own else "RGB", None, "", None))
        shown = soft.as_printed(source, profiles["proof"], rendering, has_black_point=bpc, shows_paper=paper).numpy()
        steps = [] if own else [{"from": "source", "to": "proof", "intent": str(rendering), "bpc": bpc}]
        steps.append({"from": "proof", "to": "screen", "intent": "absolute" if paper else "relative", "bpc": False})
        other = second_engine(profiles, inks if own else rgb, steps, tmp_path)
        apart = np.abs(shown - other)
        told = f"{rendering} bpc={bpc} paper={paper}: median {np.median(apart):.2f}, largest {apart.max():.1f}"
        assert np.median(apart) < 0.4 and np.percentile(apart, 99) < 6 and apart.max() < 20, told


def test_the_ways_of_showing_are_not_the_same_picture(profiles):
    """Else the comparison above would hold of a proof that hears nothing of what it is asked."""
    rgb = np.random.default_rng(4).integers(0, 256, (24, 24, 3), dtype=np.uint8)
    source = soft.source_of(rgb, Colour("RGB", None, "", None))
    ways = [way for way in WAYS if way[0] != Rendering.OWN_INKS]
    shown = [
        soft.as_printed(source, profiles["proof"], rendering, has_black_point=bpc, shows_paper=paper)
        .numpy()
        .astype(int)
        for rendering, bpc, paper in ways
    ]
    same = {(ways[a], ways[b]) for a in range(len(ways)) for b in range(a) if np.abs(shown[a] - shown[b]).mean() < 0.5}
    # Engines compensate the black point of these intents whatever is asked, where a profile is of the newer kind.
    forced = {Rendering.PERCEPTUAL, Rendering.SATURATION}
    assert all(one[0] == other[0] and one[0] in forced and one[2] == other[2] for one, other in same), same


def test_the_paper_is_shown_or_the_screens_white(profiles):
    white = np.full((4, 4, 3), 255, np.uint8)
    source = soft.source_of(white, Colour("RGB", None, "", None))
    on_paper, on_screen = (
        soft.as_printed(source, profiles["proof"], Rendering.RELATIVE, has_black_point=True, shows_paper=paper).numpy()
        for paper in (True, False)
    )
    assert on_screen.min() >= 254 and on_paper.max() < 250


def test_what_the_inks_cannot_give_is_marked_where_it_is_and_nothing_else(profiles, tmp_path):
    """A field of a screen's purest blue on what comes out of the inks themselves."""
    inks = np.zeros((120, 160, 4), np.uint8)
    inks[...] = (60, 40, 50, 0)
    printable = soft.as_printed(
        soft.source_of(inks, Colour("CMYK", None, "", None)), profiles["proof"], Rendering.OWN_INKS,
        has_black_point=False, shows_paper=False,
    ).numpy()  # fmt: skip
    printable[30:60, 40:100] = (0, 0, 255)
    found = soft_proof_of(
        drawn(tmp_path / "art.png", printable, "RGB", SRGB), Path(profiles["proof"]), CHOICE, tmp_path
    )
    assert isinstance(found, SoftFound)
    share = 30 * 60 / (120 * 160)
    assert found.out_share == pytest.approx(share, abs=0.003) and found.worst_de > 10 and found.limit_de >= LEAST_DE
    sheet = cv2.imread(str(tmp_path / CHOICE.file_name("png")), cv2.IMREAD_UNCHANGED)
    marked = sheet[..., 3] > 0
    truth = np.zeros_like(marked)
    truth[30:60, 40:100] = True
    assert (marked == truth).mean() > 0.99
    tones = sheet[..., 0][marked]
    assert 0.3 < (tones > 200).mean() < 0.7, "hatched light and dark, so that one of the two is seen on any art"
    assert "is out of gamut" in outside_words(found, Rendering.RELATIVE)


def test_of_what_was_not_looked_for_nothing_is_said_to_be_within(profiles, tmp_path):
    inks = drawn(tmp_path / "inks.tif", np.full((60, 80, 4), 200, np.uint8), "CMYK")
    found = soft_proof_of(inks, Path(profiles["proof"]), replace(CHOICE, rendering=Rendering.OWN_INKS), tmp_path)
    assert found.out_share is None and found.worst_de is None
    said = outside_words(found, Rendering.OWN_INKS)
    assert "no colour was looked for" in said
    coarse = SoftFound(width_px=9, height_px=9, own_de=13.6, limit_de=13.6, out_share=None, worst_de=None)
    said += outside_words(coarse, Rendering.RELATIVE)
    assert "was not looked for: this profile’s tables miss their own colours by 13.6" in said
    none_out = SoftFound(width_px=2048, height_px=1024, own_de=2, limit_de=3, out_share=0.0, worst_de=2.9)
    said += outside_words(none_out, Rendering.RELATIVE)
    assert "Finer detail and smaller differences were not looked for" in said
    for claim in ("in gamut", "inside", "within the gamut", "all colours", "will print", "safe"):
        assert claim not in said
    speck = replace(none_out, out_share=0.00002)
    assert "less than 0.01 % of the picture is out of gamut" in outside_words(speck, Rendering.RELATIVE)


def test_inks_are_kept_of_a_file_that_has_them_only(profiles, tmp_path):
    rgb = drawn(tmp_path / "rgb.png", np.full((20, 20, 3), 90, np.uint8), "RGB")
    own = replace(CHOICE, rendering=Rendering.OWN_INKS)
    assert soft_proof_of(rgb, Path(profiles["proof"]), own, tmp_path) == NotProofed.NO_INKS
    assert isinstance(soft_proof_of(tmp_path / "gone.png", Path(profiles["proof"]), own, tmp_path), Refusal)


def test_a_large_picture_is_shown_no_larger_than_a_preview_and_turned_as_it_is_looked_at(profiles, tmp_path):
    art = Image.fromarray(np.full((1200, 5000, 3), (200, 120, 80), np.uint8), "RGB")
    exif = Image.Exif()
    exif[0x0112] = 6
    art.save(tmp_path / "turned.jpg", exif=exif)
    found = soft_proof_of(tmp_path / "turned.jpg", Path(profiles["proof"]), CHOICE, tmp_path)
    high, wide = cv2.imread(str(tmp_path / CHOICE.file_name("jpg"))).shape[:2]
    assert (found.width_px, found.height_px) == (wide, high) and high == 2048 and wide in {491, 492}


def test_a_profile_whose_tables_are_torn_is_refused_in_the_child_and_kills_nothing(tmp_path):
    torn = bytearray(PRESS)
    torn[400:] = bytes(len(torn) - 400)
    (tmp_path / "torn.icc").write_bytes(bytes(torn))
    art = drawn(tmp_path / "art.png", np.full((20, 20, 3), 90, np.uint8), "RGB")
    assert soft_proof_of(art, tmp_path / "torn.icc", CHOICE, tmp_path) == NotProofed.NOT_USABLE


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"", ProfileFault.NOT_A_PROFILE),
        (b"\x89PNG" + bytes(400), ProfileFault.NOT_A_PROFILE),
        (PRESS[:5000], ProfileFault.CUT_SHORT),
        (SRGB, ProfileFault.NOT_PRINTING),
        (PRESS[:16] + b"RGB " + PRESS[20:], ProfileFault.NOT_FOUR_INKS),
        (PRESS[:20] + b"Luv " + PRESS[24:], ProfileFault.NOT_FOUR_INKS),
        (PRESS.replace(b"B2A0", b"B2A7", 1), ProfileFault.NO_TABLES),
        (PRESS[:128] + b"\xff\xff\xff\xff" + bytes(len(PRESS) - 132), ProfileFault.NO_TABLES),
        (PRESS, None),
    ],
)
def test_what_is_no_profile_of_a_press_is_told_apart(data, fault):
    assert printing_fault(data) == fault


def test_the_sentence_about_a_file_without_a_profile_names_the_one_that_is_used():
    used = name_of(PRESS)
    assert used == "Chemical proof"
    for code in ("cmyk", "cmyk-misfit"):
        assert f"“{used}”" in assumed_on_table({"assumed_profile": code})
    assert f"“{used}”" in assumed_words("CMYK", has_profile=False, rendering=Rendering.RELATIVE)
    assert assumed_words("CMYK", has_profile=True, rendering=Rendering.RELATIVE) == ""
    assert assumed_words("CMYK", has_profile=False, rendering=Rendering.OWN_INKS) == ""
    assert "sRGB" in assumed_words("RGB", has_profile=False, rendering=Rendering.RELATIVE)


def test_a_hundred_tags_over_the_whole_file_are_looked_at_one_at_a_time():
    n, size = 100, 1 << 20
    tags = b"".join(struct.pack(">4sII", b"t%03d" % at, 0, size) for at in range(n))
    data = (PRESS[:128] + struct.pack(">I", n) + tags).ljust(size, b"\0")
    tracemalloc.start()
    assert printing_fault(struct.pack(">I", size) + data[4:]) == ProfileFault.NO_TABLES
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8 * size


def test_a_name_is_taken_without_what_no_database_keeps():
    said = b"Press\0 one\n\x07"
    tag = b"desc" + bytes(4) + struct.pack(">I", len(said)) + said
    assert name_of(PRESS[:128] + struct.pack(">I4sII", 1, b"desc", 144, len(tag)) + tag) == "Press one"
