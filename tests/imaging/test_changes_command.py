"""`manage.py changes`: the comparison without a server."""

from __future__ import annotations

import json

import cv2
import pytest
from django.core.management import CommandError, call_command

from tests.imaging.compared import pair_of


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("changes")
    pair = pair_of("line>ink", 105)
    for name, picture in (("approved.png", pair.a), ("new.png", pair.b)):
        small = cv2.resize(picture, None, fx=0.7, fy=0.7, interpolation=cv2.INTER_AREA)
        cv2.imwrite(str(folder / name), small[..., ::-1])
    (folder / "notes.json").write_text(json.dumps([
        {"kind": "box", "points": [[0.1, 0.1], [0.3, 0.4]]},
        {"id": 7, "region": {"kind": "point", "points": [[0.5, 0.5]]}},
    ]))  # fmt: skip
    return folder


@pytest.mark.slow
def test_it_prints_one_json_object_and_writes_the_overlay(files, capsys):
    out = files / "overlay.png"
    call_command("changes", files / "approved.png", files / "new.png", width_mm=500, notes=files / "notes.json",
                 json=True, overlay=str(out))  # fmt: skip
    said = json.loads(capsys.readouterr().out)
    assert said["alignment"]["state"] == "aligned"
    assert len(said["notes"]) == 2 and said["notes"][1]["on_b"]["kind"] == "point"
    assert cv2.imread(str(out)).shape[1] <= 1600


@pytest.mark.slow
def test_without_json_it_speaks_in_sentences(files, capsys):
    call_command("changes", files / "approved.png", files / "approved.png", width_mm=500)
    assert "No difference was found in the 100 % of the earlier picture" in capsys.readouterr().out


def test_a_file_that_is_no_picture_is_refused_in_a_sentence(files):
    with pytest.raises(CommandError, match=r"notes\.json: .+"):
        call_command("changes", files / "approved.png", files / "notes.json", width_mm=500)


@pytest.mark.parametrize("raw", ["no json", '{"kind": "box"}', '[{"kind": "box", "points": [[0.1, 0.1]]}]'])
def test_notes_that_are_no_regions_are_refused_in_a_sentence(files, tmp_path, raw):
    path = tmp_path / "bad.json"
    path.write_text(raw)
    with pytest.raises(CommandError):
        call_command("changes", files / "approved.png", files / "new.png", width_mm=500, notes=path)


def test_a_senseless_width_is_refused(files):
    with pytest.raises(CommandError, match="between 1 and 5000 mm"):
        call_command("changes", files / "approved.png", files / "new.png", width_mm=0)


def test_an_overlay_that_cannot_be_written_is_said(files):
    with pytest.raises(CommandError, match="could not be written"):
        out = str(files / "none" / "o.png")
        call_command("changes", files / "approved.png", files / "new.png", width_mm=500, overlay=out)
