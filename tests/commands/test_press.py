"""The commands that plan and judge the printed object: what they say, what they write, and how they end."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
from django.core.management import call_command
from PIL import Image
from resvg_py import svg_to_bytes

from reviews.press import covers
from reviews.press.flats import guides

SETS = Path("/usr/share/color/icc")
CASE = ["--trim", "250x250mm", "--pages", "32", "--binding", "case", "--ends", "separate"]


def plan(capsys, *arguments: str) -> dict:
    call_command("press_plan", *arguments)
    return json.loads(capsys.readouterr().out)


def ended(capsys, command: str, *arguments: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as end:
        call_command(command, *arguments)
    return end.value.code, capsys.readouterr().err.strip()


def test_the_plan_of_a_case_bound_book(capsys):
    found = plan(capsys, *CASE, "--page-thickness", "0.06mm")
    assert found["first_page_is"] == "right" and found["alone"] == [1, 32]
    assert found["pieces"]["spread"]["with_bleed_mm"] == [506.0, 256.0]
    assert [p["panel"] for p in found["pieces"]["jacket"]["panels"]] == ["flap", "back", "spine", "front", "flap"]
    assert "printer's own template" in found["note"]


def test_an_inch_book_bleeds_an_eighth(capsys):
    found = plan(capsys, "--trim", "10x10in", "--pages", "32", "--binding", "paperback", "--ends", "none")
    assert found["pieces"]["spread"]["with_bleed_mm"] == pytest.approx([20.25 * 25.4, 10.25 * 25.4], abs=0.011)


def test_covers_are_left_out_until_the_paper_is_known(capsys):
    assert set(plan(capsys, *CASE)["pieces"]) == {"spread", "page"}


def test_a_board_book_of_fourteen(capsys):
    found = plan(capsys, "--trim", "150x150mm", "--pages", "14", "--binding", "board", "--ends", "none")
    assert found["first_page_is"] == "left" and found["openings"][0] == [1, 2] and not found["cautions"]


def test_an_irregular_count_carries_its_caution(capsys):
    found = plan(capsys, "--trim", "200x200mm", "--pages", "36", "--binding", "case", "--ends", "separate")
    assert "Ask the printer" in found["cautions"][0]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--trim", "250x250mm", "--pages", "33", "--binding", "case", "--ends", "self"], 1, "Choose 32 or 36"),
        (
            ["--trim", "0x250mm", "--pages", "32", "--binding", "case", "--ends", "self"],
            1,
            "The width of the trim is 0",
        ),
        (["--trim", "250 by 250", "--pages", "32", "--binding", "case", "--ends", "self"], 2, "Write it like"),
        ([*CASE, "--bleed=-3mm"], 1, "The bleed is -3"),
        ([*CASE, "--bleed", "three"], 2, "is no length"),
        ([*CASE, "--pages-per-inch", "0"], 1, "Pages per inch is 0"),
        ([*CASE, "--piece", "jacket", "--template", "x.pdf"], 2, "--page-thickness"),
        ([*CASE, "--template", "x.tif"], 2, ".pdf, .svg, .png"),
        ([*CASE, "--template", "/no/such/folder/x.pdf"], 2, "could not be written"),
        ([*CASE, "--template", "x.png", "--ppi", "9000"], 2, "another --ppi"),
        ([*CASE, "--template", "x.png", "--ppi", "0"], 2, "another --ppi"),
    ],
)
def test_what_cannot_be_planned_says_why(capsys, arguments, code, words):
    end, sentence = ended(capsys, "press_plan", *arguments)
    assert end == code and words in sentence


def test_the_pdf_template_has_its_boxes_and_layers(capsys, tmp_path):
    """Boxes as ISO 15930 and every printer ask: TrimBox within BleedBox. Read by a second engine too."""
    file = tmp_path / "cover.pdf"
    plan(capsys, *CASE, "--page-thickness", "0.0625mm", "--piece", "cover", "--template", str(file))
    with pikepdf.open(file) as pdf:
        assert {str(layer.Name) for layer in pdf.Root.OCProperties.OCGs} == {
            "Trim", "Bleed", "Safety", "Folds", "Turn-in",
        }  # fmt: skip
    page = pypdfium2.PdfDocument(file)[0]
    left, bottom, right, top = page.get_trimbox()
    assert ((right - left) / 72 * 25.4, (top - bottom) / 72 * 25.4) == pytest.approx((554.5, 290.0), abs=0.01)
    spread = tmp_path / "spread.pdf"
    plan(capsys, *CASE, "--template", str(spread))
    trim, bleed = (pypdfium2.PdfDocument(spread)[0].get_trimbox(), pypdfium2.PdfDocument(spread)[0].get_bleedbox())
    assert [b - t for t, b in zip(trim, bleed, strict=True)] == pytest.approx([-8.504, -8.504, 8.504, 8.504], abs=0.01)


def test_the_three_templates_draw_the_same_lines(capsys, tmp_path):
    """The fold of a spread stands in the middle of each, and the trim where the bleed ends."""
    for ending in ("pdf", "svg", "png"):
        plan(capsys, *CASE, "--template", str(tmp_path / f"spread.{ending}"), "--ppi", "150")
    drawn = {
        "pdf": pypdfium2.PdfDocument(tmp_path / "spread.pdf")[0].render(scale=150 / 72).to_pil(),
        "svg": Image.open(io.BytesIO(svg_to_bytes(svg_string=(tmp_path / "spread.svg").read_text(), dpi=150))),
        "png": Image.open(tmp_path / "spread.png"),
    }
    assert drawn["png"].info["dpi"] == pytest.approx((150, 150), abs=0.1)
    flat = covers.spread(covers.Trim(250, 250))
    for name, picture in drawn.items():
        rgba = picture.convert("RGBA")
        grey = np.asarray(Image.alpha_composite(Image.new("RGBA", rgba.size, "white"), rgba).convert("L")).astype(float)
        px_per_mm = grey.shape[1] / flat.with_bleed_mm[0]
        row = 255 - grey[int(grey.shape[0] * 0.2) : int(grey.shape[0] * 0.8)].mean(axis=0)
        for guide in guides(flat):
            for at in (guide.left_mm, guide.right_mm):
                x = min(round((at + flat.bleed_mm) * px_per_mm), len(row) - 1)
                assert row[max(0, x - 2) : x + 3].max() > 20, (name, guide)
        # And nothing stands where no guide is.
        assert row[round(103 * px_per_mm) : round(200 * px_per_mm)].max() < 1, name


def test_a_proof_that_holds_ends_well(capsys):
    call_command("press_proof", str(SETS / "TR006.ti3"), "--reference", "FOGRA39L", "--json")
    found = json.loads(capsys.readouterr().out)
    assert found["verdict"] == "pass" and found["patches"] == 1617
    assert "certifies nothing" in found["note"]


def test_a_proof_beyond_a_limit_ends_with_one(capsys):
    with pytest.raises(SystemExit) as end:
        call_command("press_proof", str(SETS / "TR002.ti3"), "--reference", "FOGRA39L")
    said = capsys.readouterr().out
    assert end.value.code == 1
    assert "beyond" in said and "certifies nothing" in said


def test_a_sheet_that_lacks_patches_is_not_called_within(capsys, tmp_path):
    sheet = tmp_path / "strip.txt"
    sheet.write_text(
        "BEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        "BEGIN_DATA\n1 0 0 0 0 95 0 -2\nEND_DATA\n"
    )
    with pytest.raises(SystemExit) as end:
        call_command("press_proof", str(sheet), "--reference", "FOGRA39L", "--json")
    found = json.loads(capsys.readouterr().out)
    assert end.value.code == 2 and found["verdict"] == "not-measured"


@pytest.mark.parametrize(
    ("make", "reference", "words"),
    [
        (lambda folder: folder / "none.txt", "FOGRA39L", "could not be read"),
        (lambda folder: written(folder, "hello"), "FOGRA39L", "no table of measured colour"),
        (lambda folder: written(folder, "x" * 8_000_001), "FOGRA39L", "too large"),
        (lambda folder: SETS / "TR006.ti3", "NOSUCHSET", "could not be read"),
    ],
)
def test_what_cannot_be_judged_ends_with_two(capsys, tmp_path, make, reference, words):
    code, sentence = ended(capsys, "press_proof", str(make(tmp_path)), "--reference", reference)
    assert code == 2 and words in sentence


def written(folder: Path, text: str) -> Path:
    file = folder / "sheet.txt"
    file.write_text(text)
    return file


def cmyk(path: Path, *, over: bool) -> Path:
    art = np.zeros((543, 1488, 4), np.uint8)
    art[..., 2] = 120
    if over:
        art[100:300, 100:500] = 240
    Image.fromarray(art, "CMYK").save(path, compression="tiff_lzw", dpi=(300, 300))
    return path


def test_a_file_with_too_much_ink_ends_with_one_and_says_where(capsys, tmp_path):
    file = cmyk(tmp_path / "art.tif", over=True)
    with pytest.raises(SystemExit) as end:
        call_command("press_check", str(file), "--size", "120x40mm", "--json")
    found = json.loads(capsys.readouterr().out)
    assert end.value.code == 1
    (ink,) = [fault for fault in found["faults"] if fault["code"] == "too-much-ink"]
    assert ink["values"]["highest"] == 376 and len(ink["places"]) == 1
    assert "printer's own template" in found["note"]


def test_no_fault_is_said_of_what_was_looked_for_only(capsys, tmp_path):
    call_command("press_check", str(cmyk(tmp_path / "art.tif", over=False)), "--size", "120x40mm")
    said = capsys.readouterr().out
    assert "carries no colour profile" in said and "Stopper" not in said


def test_a_file_whose_ink_was_not_measured_does_not_end_well(capsys, tmp_path):
    file = tmp_path / "rgb.tif"
    Image.fromarray(np.full((543, 1488, 3), 200, np.uint8)).save(file, dpi=(300, 300))
    with pytest.raises(SystemExit) as end:
        call_command("press_check", str(file), "--size", "120x40mm")
    said = capsys.readouterr().out
    assert end.value.code == 2 and "Ink was not measured" in said and "No fault found" not in said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--size", "0x40mm"], "Page is 0"),
        (["--size", "big"], "Write it like"),
        (["--size", "120x40mm", "--ink-limit", "500"], "up to 400"),
        (["--size", "120x40mm", "--ink-limit", "nan"], "up to 400"),
    ],
)
def test_a_piece_that_is_none_cannot_be_checked(capsys, tmp_path, arguments, words):
    code, sentence = ended(capsys, "press_check", str(cmyk(tmp_path / "art.tif", over=False)), *arguments)
    assert code == 2 and words in sentence


def test_a_file_that_is_no_picture_cannot_be_checked(capsys, tmp_path):
    code, sentence = ended(capsys, "press_check", str(written(tmp_path, "hello")), "--size", "120x40mm")
    assert code == 2 and "sheet.txt" in sentence
