"""No cell of a table we write is taken for a formula by the program that opens it."""

import ast
import csv
import io
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from reviews.notices.spreadsheet import table_bytes
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.makers import a_book

ROOT = Path(__file__).resolve().parents[2]
FORMULAS = ["=1+1", "+1", "-2+3", "@sum", "\t=1", "\r=1", "\n=1", "  =1", "＝1", "=cmd|' /c x'!A1"]


def read(table: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(table.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("formula", FORMULAS)
@pytest.mark.parametrize("column", range(3))
def test_words_that_look_like_a_formula_are_escaped_in_every_column(formula, column):
    row = ["a", "b", "c"]
    row[column] = formula
    [_, cells] = read(table_bytes(["x", "y", "z"], [row]))
    assert cells[column] == "'" + formula


def test_figures_and_plain_words_stay_as_they_are():
    row = [-3, Decimal("-1.50"), 2.5, "Pages 4–5", "it’s = so", ""]
    [_, cells] = read(table_bytes(["h"] * 6, [row]))
    assert cells == ["-3", "-1.50", "2.5", "Pages 4–5", "it’s = so", ""]


@pytest.mark.django_db
def test_a_books_title_is_no_formula_in_its_statement():
    cast = gather(a_book(title='=HYPERLINK("http://x.example","y")', publisher="@Thimblereed"))
    client = Client()
    sign_in(client, cast.seat(Role.ILLUSTRATOR).person)
    table = read(client.get(reverse("reviews:statement-csv", args=[cast.book.pk])).content)
    assert table[1][1] == '\'=HYPERLINK("http://x.example","y")'
    assert [row[1] for row in table if row[2] == "was at"] == ['\'=HYPERLINK("http://x.example","y")']
    for row in table:
        assert not [cell for cell in row if cell[:1] in "=+@\t\r" and cell], row


def test_one_module_writes_tables():
    users = set()
    for path in [*ROOT.joinpath("reviews").rglob("*.py"), *ROOT.joinpath("portal").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module] if isinstance(node, ast.ImportFrom) else []
            if "csv" in names:
                users.add(path.relative_to(ROOT).as_posix())
    assert users == {"reviews/notices/spreadsheet.py"}
