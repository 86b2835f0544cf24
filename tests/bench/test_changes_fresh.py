"""The table of fresh pairs: new seeds each time, every rate with its interval, and simpler methods beside ours."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any

import pytest

from reviews.geometry import Box
from reviews.imaging.changes.findings import FoundChange
from reviews.pages.wording.changes import change_words
from tests.bench import changes_fresh
from tests.bench.changes_measure import is_named_right, name_of
from tests.drawing_pairs import KINDS, Recipe, make_pair
from tests.drawing_truth import counted


def measured(recipe: Recipe, *, baselines: bool = False) -> dict[str, Any]:
    """Stand for a measured pair: one edit that was found, one place too many, one note each way."""
    edit = {"kind": "scale", "far": 0.0, "area": 900.0, "size": 25.0, "found": True, "noticed": True, "named": True}
    spots = [{"label": "changed", "score": 0.9, "edits": [0], "name": "resized", "is_named_right": True},
             {"label": "added", "score": 0.5, "edits": [], "name": "added", "is_named_right": False}]  # fmt: skip
    pins = [{"kind": "moved", "changed": 0.9, "error_mm": 1.0, "score": 0.9, "verdict": "touched"},
            {"kind": "still", "changed": 0.0, "error_mm": 0.1, "score": 0.1, "verdict": "untouched"}]  # fmt: skip
    row = {"kind": recipe.kind, "seed": recipe.seed, "state": "aligned", "error": 0.001, "seconds": 2.0,
           "media": "drawn", "spots": spots, "edits": [edit], "pins": pins, "n_unsure": 0, "said": []}  # fmt: skip
    if baselines:
        row["baselines"] = {"orb": 0.001, "sift": 0.001, "ecc": 0.2}
        for name in ("ssim", "difference"):
            row["baselines"] |= {f"{name}_spots": [[]], f"{name}_pins": [0.4, 0.2]}
    return row


@pytest.fixture
def table(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    monkeypatch.setattr(changes_fresh, "measure", measured)

    def run(count: int = 11) -> str:
        changes_fresh.run(count, None, None)
        return capsys.readouterr().out

    return run


def test_each_run_draws_seeds_that_nothing_was_tuned_on(table):
    firsts = [int(re.search(r"from (\d+) on", table()).group(1)) for _ in range(3)]  # type: ignore[union-attr]
    assert len(set(firsts)) == 3
    assert min(firsts) >= changes_fresh.FIRST_FRESH


def test_ours_stands_beside_simpler_methods_each_with_its_interval(table):
    printed = table()
    rate = r"\d\.\d{3} \[\d\.\d{3}, \d\.\d{3}\] \(\d+/\d+\)"
    for line in ("map within 0.3 %", "scale", "under 30 mm: found", "moved subjects within 2 mm"):
        assert re.search(rf"{re.escape(line)}:? {rate}", printed), line
    assert re.search(rf"places: precision {rate}  recall {rate}", printed)
    for name in ("orb", "sift", "ecc"):
        assert re.search(rf"beside it, {name}: map within 0.3 % {rate}", printed)
    for name in ("ssim", "difference"):
        assert re.search(rf"beside it, {name} \(true map given\): precision {rate} recall {rate} AUC 1.000", printed)
    assert "precision 0.500 [0.282, 0.718] (11/22)" in printed
    assert re.search(r"called resized: right, .* 1.000 \[0.715, 1.000\] \(11/11\)", printed)
    assert re.search(r"called added: right, .* 0.000 \[0.000, 0.285\] \(0/11\)", printed)
    assert re.search(rf"scale, found: named so {rate}", printed)


def test_every_way_from_medium_to_medium_and_both_kinds_of_drawings_are_drawn():
    recipes = changes_fresh.recipes(6 * len(KINDS), 5_000_000)
    assert {recipe.kind for recipe in recipes} == set(KINDS)
    for kind in KINDS:
        assert {recipe.art for recipe in recipes if recipe.kind == kind} == {"ours", "others"}
    assert any(recipe.n_edits == 0 for recipe in recipes)
    assert any(recipe.is_regraded for recipe in recipes)
    assert len({recipe.seed for recipe in recipes}) == len(recipes)


def test_the_counts_are_printed_as_they_stand_where_screens_take_them_from(table):
    printed = table()
    assert 'Seen(media="drawn", from_mm=20, n=11, n_noticed=11),' in printed
    assert 'Signs(media="drawn", n_changed=11, changed_as_changed=11, changed_as_unchanged=0,' in printed


def change(label: str, **told: Any) -> FoundChange:
    box = Box(0.1, 0.1, 0.2, 0.2)
    return FoundChange(label=label, old_on_a=box, new_on_a=box, on_b=box, mass_mm=9.0, score=0.9,
                       **{"vector_mm": None, **told})  # type: ignore[arg-type] # fmt: skip


@pytest.mark.parametrize(("told", "name"), [
    ({}, "changed"), ({"scale": 1.2}, "resized"), ({"scale": 0.8, "turn_deg": 2.0}, "resized"),
    ({"turn_deg": -12.0}, "turned"), ({"scale": 1.02, "turn_deg": 1.0}, "changed"),
])  # fmt: skip
def test_a_place_is_called_what_the_screen_calls_it(told, name):
    found = change("changed", **told)
    assert name_of(found) == name
    words = change_words(found.label, None, scale=found.scale, turn_deg=found.turn_deg)
    assert (words == change_words("changed", None)) == (name == "changed")


def test_a_name_is_right_only_of_what_was_done_and_by_how_much():
    moved = make_pair(Recipe("line>ink", 105, n_edits=2, edit_kind="move", move_mm=12.0, is_still=True))
    edit = counted(moved)[0]
    right, wrong = edit.shift_mm, (edit.shift_mm[0] + 3.0, edit.shift_mm[1])
    assert is_named_right("moved", change("moved", vector_mm=right), moved, [edit])
    assert not is_named_right("moved", change("moved", vector_mm=wrong), moved, [edit])
    assert not is_named_right("resized", change("changed", scale=1.2), moved, [edit])
    assert not is_named_right("moved", change("moved", vector_mm=right), moved, [])


def test_what_is_only_laid_tells_good_maps_from_certain_and_wrong_ones_and_from_strangers(monkeypatch, capsys):
    states = iter([("aligned", 0.001), ("check", 0.02), ("aligned", 0.02), ("aligned", 0.001), ("aligned", 1.0)])
    monkeypatch.setattr(changes_fresh, "make_pair", lambda recipe: SimpleNamespace(recipe=recipe, a=None, b=None))
    monkeypatch.setattr(changes_fresh, "corner_error", lambda pair, error: error)

    def laid(a: None, b: None) -> Any:
        state, error = next(states)
        return SimpleNamespace(alignment=SimpleNamespace(state=state, readings=[SimpleNamespace(a_to_b_px=error)]))

    monkeypatch.setattr(changes_fresh, "lay", laid)
    changes_fresh.maps(4, 7_000_000, None)
    printed = capsys.readouterr().out
    for line in ("map within 0.3 %: 0.500", "called certain: 0.750", "certain and over 1 % off: 0.250",
                 "strangers called certain: 1.000", "seed 7000002: aligned, off by 2.00 %"):  # fmt: skip
        assert line in printed
