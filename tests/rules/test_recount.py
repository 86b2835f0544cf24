import json
import random
import subprocess
import sys
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.recount import count_again, differences, export, figures, main
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import TermsHistory
from tests.rules.ledgers import Ledger, day, ledgers

TERMS = TermsHistory((READY_SETS["illustrator"].terms,))


def exported(book, as_of=date(2026, 6, 1)):
    return export("Tansy", as_of, date(2026, 9, 1), book.spreads.values(), TERMS, book.entries)


def busy_book():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    book.hand_in(201, day("2026-03-09"))
    book.letter(day("2026-04-20"), book.ask(101, "brief"), book.ask(201, "text"))
    book.move(101, day("2026-04-21"), "2026-05-04")
    return book


@given(ledgers(), st.integers(0, 100))
@settings(max_examples=40)
def test_a_recount_from_the_file_gives_the_same_figures(book, more):
    file = json.loads(json.dumps(exported(book, book.entries[-1].at.date() + timedelta(more))))
    assert differences(file["figures"], json.loads(json.dumps(figures(count_again(file))))) == []


def test_the_order_of_the_lines_in_the_file_does_not_matter():
    file = exported(busy_book())
    random.Random(7).shuffle(file["entries"])
    random.Random(8).shuffle(file["spreads"])
    assert json.loads(json.dumps(figures(count_again(file)))) == json.loads(json.dumps(file["figures"]))


def test_the_command_agrees_without_django_or_a_database(tmp_path):
    path = tmp_path / "book.json"
    path.write_text(json.dumps(exported(busy_book())), encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "reviews.rules.contract.recount", str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr[-2000:]
    assert json.loads(ran.stdout)["rounds"]["used"] == 1
    assert "The figures are those in the file." in ran.stderr
    for absent in ("django", "numpy", "sqlite3"):
        assert f" {absent}\n" not in ran.stderr, f"{absent} was imported"


def test_a_doctored_file_is_found_out(tmp_path, capsys):
    file = exported(busy_book())
    file["figures"]["passages"][0]["rounds"]["used"] = 5
    path = tmp_path / "book.json"
    path.write_text(json.dumps(file), encoding="utf-8")
    assert main([str(path)]) == 1
    assert "passages.0.rounds.used: the file says 5, counted 0" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    ["", "not json", "[]", '{"format": "another"}', '{"format": "roughproof-terms-1"}'],
)
def test_a_file_that_cannot_be_recounted_is_refused_with_a_sentence(tmp_path, capsys, words):
    path = tmp_path / "book.json"
    path.write_text(words, encoding="utf-8")
    assert main([str(path)]) == 2
    said = capsys.readouterr().err
    assert "cannot be recounted" in said and "Traceback" not in said


@pytest.mark.parametrize("key", ["spreads", "terms", "entries", "as_of"])
def test_a_file_with_a_broken_part_is_refused_with_a_sentence(tmp_path, capsys, key):
    path = tmp_path / "book.json"
    path.write_text(json.dumps(exported(busy_book()) | {key: [{"a": 1}]}), encoding="utf-8")
    assert main([str(path)]) == 2
    assert capsys.readouterr().err.endswith("\n")


def test_no_file_is_refused_with_a_sentence(capsys, tmp_path):
    assert main([]) == 2
    assert "Say which file" in capsys.readouterr().err
    assert main([str(tmp_path / "absent.json")]) == 2
    assert "cannot be opened" in capsys.readouterr().err


def test_differences_are_named_by_where_they_are():
    assert differences({"a": [1, 2]}, {"a": [1, 3]}) == ["a.1: the file says 2, counted 3"]
    assert differences({"a": 1}, {"b": 1}) == ["a: the file says 1, counted None", "b: the file says None, counted 1"]
    assert differences([1], [1, 2]) == ["all: the file says [1], counted [1, 2]"]
