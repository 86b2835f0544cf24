"""That nothing was found is said only with its own evidence; here it must not be said, and here it may be."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from reviews.imaging.changes import measured, remarks
from reviews.imaging.changes.comparing import compare, with_remarks
from reviews.imaging.changes.findings import ComparisonResult
from reviews.imaging.changes.measured import Seen, Signs
from reviews.imaging.changes.remarks import is_evident
from reviews.imaging.changes.sureness import exact_interval
from reviews.pages.changes_file import comparison_json, remark_words
from tests.imaging.compared import compared, pair_of

pytestmark = pytest.mark.slow
CLEAN = "nothing-found"
ROOT = Path(__file__).resolve().parents[2]
WELL_SEEN = tuple(
    Seen(media=media, from_mm=size, n=200, n_noticed=198)
    for media in ("drawn", "one-painted", "both-painted")
    for size in measured.SIZES_MM
)


@pytest.fixture(autouse=True)
def _a_table_that_would_let_it_be_said(monkeypatch):
    """What is tested here is everything else that has to hold."""
    monkeypatch.setattr(measured, "SEEN", WELL_SEEN)


def codes(found: ComparisonResult) -> list[str]:
    return [remark.code for remark in found.remarks]


def words(found: ComparisonResult) -> str:
    return " ".join(comparison_json(found, measured.touch_bounds())["sentences"])


def unedited() -> ComparisonResult:
    pair = pair_of("line>ink", 105, n_edits=0, is_still=True)
    return compare(pair.a, pair.b, pair.width_mm)


def test_with_all_its_evidence_it_is_said_with_how_finely_was_looked():
    found = unedited()
    assert codes(found) == [CLEAN] and is_evident(found)
    assert "No difference was found in the 99 % of the earlier picture" in words(found)
    assert "20 mm or larger at least 98 in 100" in words(found) and "no proof" in words(found)
    assert comparison_json(found, measured.touch_bounds())["compared"]["is_evident_that_nothing_was_found"]


@pytest.mark.parametrize(
    ("kind", "how"),
    [
        ("sketch>ink", {"n_edits": 1, "edit_kind": "remove"}),
        ("sketch>full", {"n_edits": 1, "edit_kind": "remove"}),
        ("sketch>line", {"n_edits": 2, "edit_kind": "add"}),
        ("full>full", {"n_edits": 2, "edit_kind": "add"}),
        ("line>full", {"n_edits": 1, "edit_kind": "move", "move_mm": 12.0}),
        ("full>full", {"n_edits": 1, "edit_kind": "move", "move_mm": 12.0}),
    ],
)
def test_it_is_not_said_when_something_is_missing_new_or_moved(kind, how):
    pair = pair_of(kind, 141, is_still=True, **how)
    found = compare(pair.a, pair.b, pair.width_mm)
    assert CLEAN not in codes(found) and "No difference" not in words(found)


@pytest.mark.parametrize("state", ["check", "two-readings"])
def test_it_is_never_said_beside_a_doubt_about_how_the_two_lie(state):
    found = unedited()
    doubted = with_remarks(replace(found, alignment=replace(found.alignment, state=state)))
    assert codes(doubted) == [state, "nothing-marked"] and not is_evident(doubted)
    assert "does not say that nothing changed" in words(doubted)


def test_it_is_not_said_of_a_half_and_what_the_other_half_lost_is_told():
    pair = pair_of("line>ink", 105, n_edits=0, is_still=True)
    width = pair.b.shape[1]
    found = compare(pair.a, pair.b[:, : width * 6 // 10].copy(), pair.width_mm)
    assert CLEAN not in codes(found)
    if found.alignment.is_usable:
        assert "no-longer-shown" in codes(found)
        assert "no longer shows 4" in words(found) and "% at the right" in words(found)


def test_it_is_not_said_while_one_place_may_be_something():
    found = unedited()
    _, _, other = compared("sketch>line", 120, n_edits=1, edit_kind="move", move_mm=20.0)
    faint = with_remarks(replace(found, unsure=other.changes[:1]))
    assert codes(faint) == ["nothing-marked", "n-unsure"]
    assert "1 more place may have changed" in words(faint)


@pytest.mark.parametrize("seen", [(), tuple(replace(row, n_noticed=90) for row in WELL_SEEN)])
def test_it_is_not_said_where_less_than_half_is_known_to_be_noticed(monkeypatch, seen):
    found = unedited()
    monkeypatch.setattr(measured, "SEEN", seen)
    assert codes(with_remarks(found)) == ["nothing-marked"]


def test_colours_that_could_not_be_compared_are_told():
    pair = pair_of("full>full", 151, n_edits=0, is_still=True, is_regraded=True)
    found = compare(pair.a, pair.b, pair.width_mm)
    assert not found.is_colour_compared and "colours-not-compared" in codes(found)
    assert not [change for change in found.changes if change.label in ("colour", "detail")]


def test_it_is_not_said_of_two_paintings_whose_colours_were_not_compared():
    found = unedited()
    painted = with_remarks(replace(found, media="both-painted", is_colour_compared=True))
    assert codes(painted) == [CLEAN] and is_evident(painted)
    by_form = with_remarks(replace(found, media="both-painted", is_colour_compared=False))
    assert codes(by_form) == ["colours-not-compared", "nothing-marked"] and not is_evident(by_form)


def test_every_figure_that_is_said_is_the_worse_end_of_its_interval(monkeypatch):
    rows = (Signs(media="drawn", n_changed=100, changed_as_changed=80, changed_as_unchanged=5, n_unchanged=400,
                  unchanged_as_changed=4),)  # fmt: skip
    monkeypatch.setattr(measured, "SIGNS", rows)
    said = measured.touch_bounds()
    # Clopper-Pearson: 80 of 100 is .708 to .873, 5 of 100 .016 to .113, 4 of 400 .003 to .025.
    assert said.values == {"changed_as_changed": 70, "changed_as_unchanged": 12, "unchanged_as_changed": 3}
    assert "at least 70 in 100" in remark_words(said) and "at most 12 in 100" in remark_words(said)


def test_the_smallest_size_is_that_from_which_nine_in_ten_are_surely_noticed(monkeypatch):
    counts = {0: (10, 3), 20: (20, 12), 30: (40, 36), 45: (60, 59), 70: (80, 80)}
    rows = tuple(Seen(media="drawn", from_mm=mm, n=n, n_noticed=hits) for mm, (n, hits) in counts.items())
    monkeypatch.setattr(measured, "SEEN", rows)
    fine = measured.fineness("drawn")
    assert fine["from_mm"] == 30 and fine["in_100"] >= 90
    assert fine["smaller_in_100"] == 31  # 15 of 30: .313 to .687
    assert measured.noticed_from("drawn", 20) < measured.SURE
    assert remarks.fineness is measured.fineness


MEDIA = ("drawn", "one-painted", "both-painted")


@pytest.fixture
def table(monkeypatch):
    """The counts as they are kept, not those that the other tests put in their place."""
    monkeypatch.undo()
    return measured.SEEN


@pytest.mark.parametrize("media", MEDIA)
def test_the_kept_counts_hold_every_size_and_say_no_more_than_they_can(media, table):
    rows = [row for row in table if row.media == media]
    assert [row.from_mm for row in rows] == list(measured.SIZES_MM)
    fine = measured.fineness(media)
    for counted_rows, said in (
        ([row for row in rows if row.from_mm >= fine["from_mm"]], fine["in_100"]),
        ([row for row in rows if row.from_mm < fine["from_mm"]], fine["smaller_in_100"]),
    ):
        n, hits = sum(row.n for row in counted_rows), sum(row.n_noticed for row in counted_rows)
        assert n >= 10 and 0 <= hits <= n
        assert said / 100 <= exact_interval(hits, n)[0] < hits / n


@pytest.mark.parametrize("media", MEDIA)
def test_the_kept_signs_say_no_more_than_they_can(media, table):
    (row,) = (row for row in measured.SIGNS if row.media == media)
    said = measured.touch_bounds(media).values
    assert row.n_changed >= 60 and row.n_unchanged >= 200
    assert said["changed_as_changed"] / 100 <= exact_interval(row.changed_as_changed, row.n_changed)[0]
    assert said["changed_as_unchanged"] / 100 >= exact_interval(row.changed_as_unchanged, row.n_changed)[1]
    assert said["unchanged_as_changed"] / 100 >= exact_interval(row.unchanged_as_changed, row.n_unchanged)[1]


def test_no_document_promises_a_rate_of_the_comparison():
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert not re.search(r"\d+ in 100|nine times in ten|precision of|recall of", text)
