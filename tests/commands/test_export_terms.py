"""The exported file, recounted by another program with no database, gives the figures of the screen."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from reviews.queries.line_names import names_of, with_names
from reviews.rules.states import Role
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, approved
from tests.makers import a_book

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def cast():
    cast = gather(a_book())
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    approved(cast, cast.passage("Pages 6–7", "ideas"), 2)
    return cast


def recounted(path: Path) -> subprocess.CompletedProcess:
    # Python without the project's settings: a recount that reached for the database would fail.
    command = [sys.executable, "-m", "reviews.rules.contract.recount", str(path)]
    return subprocess.run(command, cwd=ROOT, env={"PATH": ""}, capture_output=True, text=True, timeout=120)


@pytest.mark.slow
@pytest.mark.parametrize("has_terms", [False, True])
def test_a_recount_of_the_export_equals_the_screen(cast, client, tmp_path, capsys, has_terms):
    if has_terms:
        enter(cast)
        a_round(cast, cast.passage("Pages 4–5", "ideas"), 3, over=True)
    path = tmp_path / "book.json"
    call_command("export_terms", cast.book.title, "--out", str(path))
    done = recounted(path)
    assert done.returncode == 0, done.stderr
    sign_in(client, cast.illustrator.person)
    shown = client.get(reverse("reviews:statement-json", args=[cast.book.pk])).json()
    # The screen cites lines by the reader's names, the file by their places in the chain.
    names = names_of(cast.book.pk, Role.ILLUSTRATOR)
    assert shown["figures"] == with_names(json.loads(done.stdout), names)
    shared = {place: name for place, name in names.items() if "." not in name}
    lines = json.loads(path.read_text())["lines"]
    assert lines and all(shared[int(place)] == name for place, name in lines.items())
    assert shown["figures"]["rounds"]["over"] == (1 if has_terms else 0)


def test_a_recount_finds_a_figure_that_was_changed(cast, tmp_path):
    path = tmp_path / "book.json"
    call_command("export_terms", str(cast.book.pk), "--out", str(path))
    file = json.loads(path.read_text())
    file["figures"]["rounds"]["used"] += 1
    path.write_text(json.dumps(file))
    done = recounted(path)
    assert done.returncode == 1
    assert "rounds.used" in done.stderr


def test_a_book_that_is_not_there_is_refused_in_a_sentence(cast, tmp_path):
    with pytest.raises(CommandError, match="There is no book"):
        call_command("export_terms", "Nobody’s Book", "--out", str(tmp_path / "x.json"))


def test_a_place_that_cannot_be_written_is_refused_in_a_sentence(cast, tmp_path):
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("export_terms", str(cast.book.pk), "--out", str(tmp_path / "no-folder" / "x.json"))


@pytest.mark.parametrize(("day", "sentence"), [("soon", "is no day"), ("2999-01-01", "not after today")])
def test_a_day_that_cannot_be_is_refused_in_a_sentence(cast, tmp_path, day, sentence):
    with pytest.raises(CommandError, match=sentence):
        call_command("export_terms", str(cast.book.pk), "--out", str(tmp_path / "x.json"), "--as-of", day)
    assert not (tmp_path / "x.json").exists()
