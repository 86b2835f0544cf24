"""The comparison on pairs drawn this once, with exact intervals, beside simpler methods in the same run."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np

from reviews.imaging.changes.findings import Alignment
from reviews.imaging.changes.laying import lay
from reviews.imaging.changes.measured import SIZES_MM
from reviews.imaging.changes.sureness import exact_interval
from tests.bench.changes_measure import NAMES, measure
from tests.drawing_pairs import KINDS, Pair, Recipe, make_pair
from tests.drawing_truth import corner_error

Row = dict[str, Any]
FIRST_FRESH = 1_000_000  # what was ever tuned or reported on has smaller seeds
PAINTED = ("full>full", "flats>flats", "flats>full")
MEDIA = ("drawn", "one-painted", "both-painted")


def rate(values: Iterable[bool]) -> str:
    """Write a share with its exact 95 % interval."""
    seen = list(values)
    if not seen:
        return "- (0)"
    low, high = exact_interval(sum(seen), len(seen))
    return f"{np.mean(seen):.3f} [{low:.3f}, {high:.3f}] ({sum(seen)}/{len(seen)})"


def recipes(count: int, first: int) -> list[Recipe]:
    """List pairs never drawn before: every way from medium to medium, our own and others' drawings in turn.

    Every second pair of two paintings comes from another desk: graded anew, other light, fewer colours. Every second
    round is of pages with small figures.
    """
    out = []
    for i in range(count):
        kind, round_ = KINDS[i % len(KINDS)], i // len(KINDS)
        art = "ours" if i % 2 else "others"  # the ways are odd in number, so each has both in turn
        n_edits = 0 if round_ % 6 == 5 else 5 if round_ % 2 == 0 else None
        is_regraded = kind in PAINTED and round_ % 4 in (1, 2)
        has_small = round_ % 2 == 0
        out.append(Recipe(kind, first + i, art=art, n_edits=n_edits, is_regraded=is_regraded, has_small=has_small))
    return out


def run(count: int, first: int | None, rows_path: Path | None) -> None:
    """Measure so many fresh pairs and print the table; the seed printed first repeats it."""
    first = FIRST_FRESH + secrets.randbelow(2**30) if first is None else first
    print(f"fresh seeds from {first} on, {count} pairs", flush=True)
    kept = {} if rows_path is None or not rows_path.exists() else {
        r["seed"]: r for r in map(json.loads, rows_path.read_text().splitlines())}  # fmt: skip
    rows = []
    for recipe in recipes(count, first):
        row = kept.get(recipe.seed)
        if row is None:
            row = {**measure(recipe, baselines=True), "art": recipe.art, "is_regraded": recipe.is_regraded}
            if rows_path is not None:
                with rows_path.open("a") as out:
                    out.write(json.dumps(row) + "\n")
        rows.append(row)
    print_table(rows)
    print_source(rows, first)


def bills(count: int, first: int | None, rows_path: Path | None) -> None:
    """Ask how often "nothing was found" is said, and how often wrongly, of fresh pairs in one frame.

    They have one edit or none. Only in one frame it can be said at all: pairs that crop each other never get it.
    """
    first = FIRST_FRESH + secrets.randbelow(2**30) if first is None else first
    print(f"fresh seeds from {first} on, {count} pairs in one frame", flush=True)
    rows = []
    for i in range(count):
        kind, round_ = KINDS[i % len(KINDS)], i // len(KINDS)
        recipe = Recipe(kind, first + i, art="ours" if i % 2 else "others", is_still=True,
                        n_edits=0 if round_ % 2 else 1, has_small=round_ % 4 < 2)  # fmt: skip
        rows.append({**measure(recipe), "art": recipe.art, "is_regraded": False})
        if rows_path is not None:
            with rows_path.open("a") as out:
                out.write(json.dumps(rows[-1]) + "\n")
    print_bills(rows)


def maps(count: int, first: int | None, rows_path: Path | None) -> None:
    """Ask only how fresh pairs are laid on each other, and strangers: every fourth picture on another pair's."""
    first = FIRST_FRESH + secrets.randbelow(2**30) if first is None else first
    print(f"fresh seeds from {first} on, {count} pairs, only laid", flush=True)
    rows, before = [], None
    for i, recipe in enumerate(recipes(count, first)):
        pair = make_pair(recipe)
        rows.append(_map_row(pair, lay(pair.a, pair.b).alignment))
        if i % 4 == 3 and before is not None:
            found = lay(pair.a, before.b).alignment
            rows.append({"kind": f"stranger {recipe.kind}", "seed": recipe.seed, "state": found.state, "error": 1.0})
        before = pair
        if rows_path is not None:
            rows_path.write_text("".join(json.dumps(row) + "\n" for row in rows))
    print_maps(rows)


def _map_row(pair: Pair, found: Alignment) -> Row:
    error = corner_error(pair, found.readings[0].a_to_b_px) if found.readings else 1.0
    return {"kind": pair.recipe.kind, "seed": pair.recipe.seed, "state": found.state, "error": error}


def print_maps(rows: list[Row]) -> None:
    """Print how well true pairs were laid, and what was called certain and was not, strangers among it."""
    strangers = [r for r in rows if r["kind"].startswith("stranger")]
    pairs = [r for r in rows if r not in strangers]
    print(f"map within 0.3 %: {rate(r['error'] < 0.003 and r['state'] != 'not-aligned' for r in pairs)}")
    print(f"called certain: {rate(r['state'] == 'aligned' for r in pairs)}")
    print(f"certain and over 1 % off: {rate(r['state'] == 'aligned' and r['error'] > 0.01 for r in pairs)}")
    print(f"strangers called certain: {rate(r['state'] == 'aligned' for r in strangers)}")
    print(f"strangers laid at all: {rate(r['state'] != 'not-aligned' for r in strangers)}")
    for row in rows:
        if (row["state"] == "aligned" and row["error"] > 0.01) or (row not in strangers and row["error"] > 0.003):
            print(f"  {row['kind']} seed {row['seed']}: {row['state']}, off by {100 * row['error']:.2f} %")


def print_bills(rows: list[Row]) -> None:
    """Print how often it was said, of pairs without and with something to be found, and what went unnoticed."""
    said = [r for r in rows if "nothing-found" in r["said"]]
    still, edited = ([r for r in rows if _has_edit(r) is truth] for truth in (False, True))
    print(f"nothing to be found: said of {rate('nothing-found' in r['said'] for r in still)}")
    print(f"one thing changed: said of {rate('nothing-found' in r['said'] for r in edited)}")
    print(f"said, and wrong: {rate(_has_edit(r) for r in said)}")
    for row in said:
        for edit in row["edits"]:
            if is_large(edit):
                print(f"  {row['kind']} seed {row['seed']}: {edit['kind']}, {edit['size']:.0f} mm went unseen")


def is_large(edit: Row) -> bool:
    """Whether an edit counts for recall: no inner detail, no recolouring, no move under 4 mm."""
    return edit["kind"] not in ("detail", "recolour") and not (edit["kind"] == "move" and edit["far"] < 4)


def print_table(rows: list[Row]) -> None:
    groups: dict[str, Callable[[Row], bool]] = {"all": lambda r: True}
    groups |= {f"drawings: {art}": lambda r, art=art: r["art"] == art for art in ("ours", "others")}
    groups |= {media: lambda r, media=media: r["media"] == media for media in MEDIA}
    groups["both-painted, another desk"] = lambda r: r["is_regraded"]
    groups |= {kind: lambda r, kind=kind: r["kind"] == kind for kind in KINDS}
    for name, is_in in groups.items():
        of = [r for r in rows if is_in(r)]
        if of:
            print(f"\n{name}: {len(of)} pairs, {np.median([r['seconds'] for r in of]):.2f} s CPU (median)")
            _print_group(of)


def _print_group(rows: list[Row]) -> None:
    usable = [r for r in rows if r["state"] != "not-aligned"]
    sure = [r for r in rows if r["state"] == "aligned"]
    spots = [s for r in rows for s in r["spots"]]
    edits = [e for r in rows for e in r["edits"] if is_large(e)]
    print(f"  map within 0.3 %: {rate(r['error'] < 0.003 and r in usable for r in rows)}")
    print(f"  sure and over 1 % off: {rate(r['error'] > 0.01 for r in sure)}")
    print(f"  places: precision {rate(bool(s['edits']) for s in spots)}  recall {rate(e['found'] for e in edits)}")
    print(f"  under 30 mm: found {rate(e['found'] for e in edits if e['size'] < 30)}")
    for kind in ("move", "remove", "add", "replace", "scale", "rotate"):
        print(f"    {kind}: {rate(e['found'] for e in edits if e['kind'] == kind)}")
    _print_names(spots, edits)
    clean = [r for r in rows if "nothing-found" in r["said"]]
    quiet = [r for r in sure if not r["spots"] and not r["n_unsure"]]
    print(f"  told that nothing was found: {len(clean)}; of them wrong {rate(_has_edit(r) for r in clean)}")
    print(f"  no place and none unsure: {len(quiet)}; of them with an edit {rate(_has_edit(r) for r in quiet)}")
    _print_signs(rows)
    _print_baselines([r for r in rows if "baselines" in r])


def _print_names(spots: list[Row], edits: list[Row]) -> None:
    """Print how often a name is right, by name, and how often what was found of a kind is named so."""
    for name in NAMES:
        said = [s for s in spots if s["name"] == name]
        print(f"    called {name}: right, with what is told beside it {rate(s['is_named_right'] for s in said)}")
    for kind in ("move", "remove", "add", "scale", "rotate"):
        print(f"    {kind}, found: named so {rate(e['named'] for e in edits if e['kind'] == kind and e['found'])}")


def _has_edit(row: Row) -> bool:
    return any(is_large(e) for e in row["edits"])


def _print_signs(rows: list[Row]) -> None:
    pins = [p for r in rows for p in r["pins"]]
    touched, untouched = ([p for p in pins if test(p["changed"])] for test in (lambda c: c > 0.1, lambda c: c < 0.005))
    print(f"  notes: changed called changed {rate(p['verdict'] == 'touched' for p in touched)}")
    print(f"    changed called unchanged {rate(p['verdict'] == 'untouched' for p in touched)}")
    print(f"    unchanged called changed {rate(p['verdict'] == 'touched' for p in untouched)}")
    print(f"    AUC {_auc([p['score'] for p in touched], [p['score'] for p in untouched]):.3f}")
    there = [p for p in pins if p["error_mm"] is not None]
    print(f"  moved subjects within 2 mm: {rate(p['error_mm'] < 2 for p in there if p['kind'] == 'moved')}")


def _auc(yes: list[float], no: list[float]) -> float:
    if not yes or not no:
        return float("nan")
    one, other = np.array(yes)[:, None], np.array(no)[None]
    return float(((one > other) + 0.5 * (one == other)).mean())


def _print_baselines(rows: list[Row]) -> None:
    for name in ("orb", "sift", "ecc"):
        print(f"  beside it, {name}: map within 0.3 % {rate(r['baselines'][name] < 0.003 for r in rows)}")
    for name in ("ssim", "difference"):
        spots = [bool(s) for r in rows for s in r["baselines"][f"{name}_spots"]]
        found = [
            i in {j for s in r["baselines"][f"{name}_spots"] for j in s}
            for r in rows
            for i, e in enumerate(r["edits"])
            if is_large(e)
        ]
        pins = [(m, p["changed"]) for r in rows for p, m in zip(r["pins"], r["baselines"][f"{name}_pins"], strict=True)]
        auc = _auc([m for m, c in pins if c > 0.1], [m for m, c in pins if c < 0.005])
        print(f"  beside it, {name} (true map given): precision {rate(spots)} recall {rate(found)} AUC {auc:.3f}")


def print_source(rows: list[Row], first: int) -> None:
    """Print the counts as they stand in measured.py; only surely aligned pairs, for only of those a bill is given."""
    print(f"\nN_PAIRS, FIRST_SEED = {len(rows)}, {first}")
    print("SEEN: tuple[Seen, ...] = (")
    for media in MEDIA:
        edits = [e for r in rows if r["state"] == "aligned" and r["media"] == media for e in r["edits"] if is_large(e)]
        for low, high in zip(SIZES_MM, [*SIZES_MM[1:], 1e9], strict=True):
            some = [e["noticed"] for e in edits if low <= e["size"] < high]
            print(f'    Seen(media="{media}", from_mm={low}, n={len(some)}, n_noticed={sum(some)}),')
    print(")\nSIGNS: tuple[Signs, ...] = (")
    for media in MEDIA:
        pins = [p for r in rows if r["media"] == media for p in r["pins"]]
        touched, untouched = [p for p in pins if p["changed"] > 0.1], [p for p in pins if p["changed"] < 0.005]
        counts = {
            "n_changed": len(touched),
            "changed_as_changed": sum(p["verdict"] == "touched" for p in touched),
            "changed_as_unchanged": sum(p["verdict"] == "untouched" for p in touched),
            "n_unchanged": len(untouched),
            "unchanged_as_changed": sum(p["verdict"] == "touched" for p in untouched),
        }
        values = ", ".join(f"{key}={value}" for key, value in counts.items())
        print(f'    Signs(media="{media}", {values}),')
    print(")")
