"""`manage.py scans`: joined sheets and ink alone, as new files that name their sources."""

from __future__ import annotations

import hashlib
import io
import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from django.core.management import CommandError, call_command
from PIL import Image

from reviews.imaging import derived
from reviews.imaging.decode import examine, read_rgb
from reviews.imaging.results import PictureFacts
from reviews.imaging.sheets.grey import NAME
from tests.imaging.scanned import Pixels, drawn_on_paper, inked_over_pencil, scan


def run(*arguments: object) -> str:
    out = io.StringIO()
    call_command("scans", *(str(each) for each in arguments), stdout=out)
    return out.getvalue()


def painted() -> Pixels:
    """A night in blues, as gouache covers a sheet."""
    down, across = np.mgrid[0:300, 0:400]
    tone = 70 + 40 * np.sin(down / 30) * np.cos(across / 45)
    return np.stack([tone * 0.5, tone * 0.8, tone * 1.3], 2).clip(0, 255).astype(np.uint8)


def pencil_alone() -> Pixels:
    """A pencil sketch before any ink: blue lines on paper."""
    sheet = np.full((400, 500, 3), (242, 238, 230), np.uint8)
    for n in range(8):
        cv2.circle(sheet, (60 + 50 * n, 200), 60, (120, 165, 225), 3, cv2.LINE_AA)
    return sheet


def test_two_sheets_become_one_file_and_stay_as_they_are(tmp_path: Path) -> None:
    drawing = drawn_on_paper(1200, 800, 401)
    for name, left in (("a.png", 0), ("b.png", 500)):
        Image.fromarray(scan(drawing, left, 0, 700, 800, left + 1).picture).save(tmp_path / name)
    before = [(tmp_path / name).read_bytes() for name in ("a.png", "b.png")]
    recipe = json.loads(run("join", tmp_path / "a.png", tmp_path / "b.png", "--out", tmp_path / "one.png", "--json"))
    with Image.open(tmp_path / "one.png") as joined:
        assert joined.size == (1200, 800)
        assert joined.info["icc_profile"]
    assert [(tmp_path / name).read_bytes() for name in ("a.png", "b.png")] == before
    assert recipe["sources_sha256"] == [hashlib.sha256(data).hexdigest() for data in before]
    assert recipe["method"] == "joining-2"


def test_the_ink_is_taken_from_a_scan(tmp_path: Path) -> None:
    picture, _ = inked_over_pencil(700, 500, 402, "blue")
    Image.fromarray(picture).save(tmp_path / "scan.png")
    said = run("ink", tmp_path / "scan.png", "--out", tmp_path / "ink.png")
    assert "blue under-drawing" in said
    with Image.open(tmp_path / "ink.png") as ink:
        assert (ink.mode, ink.size) == ("L", (700, 500))
        drawn = np.asarray(ink)
    facts = examine(tmp_path / "ink.png")
    assert isinstance(facts, PictureFacts)
    assert (facts.profile_name, facts.assumed_profile) == (NAME, None)
    # Converted by its profile it looks as it was drawn.
    shown = read_rgb(tmp_path / "ink.png", 1000)
    assert np.array_equal(shown, np.repeat(drawn[..., None], 3, axis=2))


def test_sheets_that_make_too_large_a_picture_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawing = drawn_on_paper(1200, 800, 401)
    for name, left in (("a.png", 0), ("b.png", 500)):
        Image.fromarray(scan(drawing, left, 0, 700, 800, left + 1).picture).save(tmp_path / name)
    monkeypatch.setattr(derived, "LIMITS", replace(derived.LIMITS, max_pixels=900_000))
    with pytest.raises(CommandError, match=r"Joined, .* too large.* 1200 × 800 pixels"):
        run("join", tmp_path / "a.png", tmp_path / "b.png", "--out", tmp_path / "one.png")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.png", "b.png"]


def test_what_cannot_be_done_is_said(tmp_path: Path) -> None:
    Image.new("RGB", (300, 300), (240, 238, 230)).save(tmp_path / "blank.png")
    (tmp_path / "text.png").write_text("no picture")
    Image.fromarray(painted()).save(tmp_path / "painted.png")
    Image.fromarray(pencil_alone()).save(tmp_path / "pencil.png")
    blank, out = tmp_path / "blank.png", tmp_path / "out.png"
    with pytest.raises(CommandError, match="No certain overlap"):
        run("join", blank, blank, "--out", out)
    with pytest.raises(CommandError, match=r"Sheet 2 \(text.png\)"):
        run("join", blank, tmp_path / "text.png", "--out", out)
    with pytest.raises(CommandError, match="nothing to take out"):
        run("ink", blank, "--out", out)
    with pytest.raises(CommandError, match="does not look like a scan"):
        run("ink", tmp_path / "painted.png", "--out", out)
    with pytest.raises(CommandError, match="no black ink over it"):
        run("ink", tmp_path / "pencil.png", "--out", out)
    with pytest.raises(CommandError, match="choose another name"):
        run("ink", blank, "--out", blank)
    with pytest.raises(CommandError, match="name one file"):
        run("ink", blank, blank, "--out", out)
    assert not out.exists()
