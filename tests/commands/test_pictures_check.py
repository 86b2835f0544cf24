"""`manage.py pictures_check`: one verdict per file, for people and for programs."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from django.core.management import call_command

from tests.imaging.picture_files import quarters


def run(*arguments: str) -> tuple[int, str]:
    out = io.StringIO()
    try:
        call_command("pictures_check", *arguments, stdout=out)
    except SystemExit as left:
        return int(left.code or 0), out.getvalue()
    return 0, out.getvalue()


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    quarters().save(tmp_path / "good.tif", dpi=(300, 300))
    (tmp_path / "bad.jpg").write_text("not a picture at all")
    return str(tmp_path / "good.tif"), str(tmp_path / "bad.jpg")


def test_json_gives_one_verdict_per_file(files: tuple[str, str]) -> None:
    status, said = run("--json", *files)
    good, bad = (json.loads(line) for line in said.splitlines())
    assert status == 1
    wanted = {"verdict": "accepted", "kind": "TIFF", "width_px": 640, "height_px": 400, "mode": "RGB", "bits": 8}
    assert good.items() >= wanted.items()
    assert (good["ppi_x"], good["orientation"], good["profile_name"]) == (300, 1, "")
    assert (bad["verdict"], bad["code"]) == ("refused", "not-a-picture")
    assert "text file" in bad["sentence"]


def test_words_are_for_reading(files: tuple[str, str]) -> None:
    status, said = run(files[0])
    assert status == 0
    assert said == f"{files[0]}: accepted. TIFF, 640 × 400 px; RGB, 8 bits; no profile; 300 ppi.\n"
