"""Measure the comparison of versions on pairs of known truth: `python -m tests.bench.changes --help`.

`--fresh N` draws N new pairs and prints the table with exact intervals, beside simpler methods. For what is kept
in rows: seeds under 200 are for tuning, from 200 on for reporting. Every row is kept in a file of one JSON object per
line, so that a run can be stopped and taken up again, and the summary be printed from it at any time.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import cv2
import numpy as np
from scipy.stats import rankdata

from reviews.imaging.changes.laying import lay
from tests.bench.changes_fresh import bills, maps, run
from tests.bench.changes_measure import measure
from tests.bench.changes_stress import STRESS, Stress, measure_map, print_row
from tests.drawing_pairs import KINDS, Recipe, make_pair
from tests.drawings_of_others import MISSING, is_installed

Rows = list[dict[str, Any]]


def share(values: list[bool]) -> str:
    return f"{np.mean(values):.3f} ({sum(values)}/{len(values)})" if values else "-"


def auc(scores: list[float], truth: list[bool]) -> float:
    """Return the area under the ROC curve (Mann-Whitney)."""
    ranks, yes = rankdata(scores), np.array(truth)
    n1, n0 = int(yes.sum()), int((~yes).sum())
    return float((ranks[yes].sum() - n1 * (n1 + 1) / 2) / max(1, n1 * n0))


def print_alignment(rows: Rows) -> None:
    error = 100 * np.array([r["error"] for r in rows])
    print(
        f"  corner error < 0.3 %: {share(list(error < 0.3))}  median {np.median(error):.3f} %  "
        f"p95 {np.percentile(error, 95):.3f} %  worst {error.max():.2f} %"
    )
    sure = [r for r in rows if r["state"] == "aligned"]
    counts = ", ".join(
        f"{n} {sum(r['state'] == n for r in rows)}" for n in ("aligned", "check", "two-readings", "not-aligned")
    )
    print(f"  {counts}; confidently wrong (> 1 %): {sum(r['error'] > 0.01 for r in sure)}")


def print_changes(rows: Rows) -> None:
    spots = [s for r in rows for s in r["spots"]]
    edits = [e for r in rows for e in r["edits"]]
    large = [e for e in edits if e["kind"] not in ("detail", "recolour") and not (e["kind"] == "move" and e["far"] < 4)]
    print(f"  precision {share([bool(s['edits']) for s in spots])}  recall {share([e['found'] for e in large])}")
    for label in sorted({s["label"] for s in spots}):
        print(f"    {label}: right {share([bool(s['edits']) for s in spots if s['label'] == label])}")
    for kind in sorted({e["kind"] for e in edits}):
        print(f"    {kind}: found {share([e['found'] for e in edits if e['kind'] == kind])}")
    same = [
        e
        for r in rows
        if r["kind"] in ("line>line", "flats>flats", "full>full")
        for e in r["edits"]
        if e["kind"] in ("detail", "recolour")
    ]
    print(f"  colour and detail, same medium: found {share([e['found'] for e in same])}")
    off = [s["vector_error"] for s in spots if s["vector_error"] is not None]
    if off:
        print(f"  vectors: median {np.median(off):.2f} mm, within 1 mm {share([v < 1 for v in off])}")
    print(f"  pairs without edits that show nothing: {share([not r['spots'] for r in rows if r['n_edits'] == 0])}")


WIDTH_MM = 500.0  # of every scene
NOTE_GROUPS: dict[str, tuple[str, ...]] = {
    "all that still exist": ("still", "moved", "rotated", "scaled"), "moved": ("moved",), "still": ("still",),
    "turned or resized": ("rotated", "scaled"),
}  # fmt: skip


def print_notes(rows: Rows) -> None:
    pins = [p for r in rows for p in r["pins"]]
    there = [p for p in pins if p["error_mm"] is not None]
    for name, kinds in NOTE_GROUPS.items():
        some = [p for p in there if p["kind"] in kinds]
        near = share([p["error_mm"] < 0.01 * WIDTH_MM for p in some])
        by_page = share([p["by_page_mm"] < 0.01 * WIDTH_MM for p in some])
        print(
            f"  notes, {name}: centre within 1 % of the width {near}  within 2 mm "
            f"{share([p['error_mm'] < 2 for p in some])}  (the page's map alone, 1 %: {by_page})"
        )
    lost = share([p["state"] == "cannot-tell" for p in pins if p["kind"] == "gone"])
    print(f"  cannot-tell: of gone subjects {lost}, of others {share([p['state'] == 'cannot-tell' for p in there])}")
    judged = [(p, p["changed"] > 0.1) for p in pins if p["changed"] > 0.1 or p["changed"] < 0.005]
    print(f"  touched: AUC {auc([p['score'] for p, _ in judged], [t for _, t in judged]):.3f} over {len(judged)} notes")
    for verdict in ("touched", "untouched", "cannot-tell"):
        of = [share([p["verdict"] == verdict for p, t in judged if t is truth]) for truth in (True, False)]
        print(f"    said {verdict}: of the touched {of[0]}, of the untouched {of[1]}")


def print_baselines(rows: Rows) -> None:
    rows = [r for r in rows if "baselines" in r]
    if not rows:
        return
    for name in ("none", "phase", "ecc", "orb"):
        error = 100 * np.array([r["baselines"][name] for r in rows])
        print(f"  baseline {name}: < 0.3 % {share(list(error < 0.3))} median {np.median(error):.2f} %")
    spots = [bool(hit) for r in rows for hit in r["baselines"]["difference_spots"]]
    found = [
        i in {j for hit in r["baselines"]["difference_spots"] for j in hit}
        for r in rows
        for i, e in enumerate(r["edits"])
        if e["kind"] not in ("detail", "recolour")
    ]
    pins = [
        (p, m)
        for r in rows
        for p, m in zip(r["pins"], r["baselines"]["difference_pins"], strict=True)
        if p["changed"] > 0.1 or p["changed"] < 0.005
    ]
    print(
        f"  baseline pixel difference with the true alignment: precision {share(spots)} recall {share(found)} "
        f"touched AUC {auc([m for _, m in pins], [p['changed'] > 0.1 for p, _ in pins]):.3f}"
    )


SETS = {"plain": "our own drawings", "others": "others' drawings", "unedited": "our own drawings, nothing edited"}


def print_summary(rows: Rows) -> None:
    parts: tuple[Callable[[Rows], None], ...] = (print_alignment, print_changes, print_notes, print_baselines)
    for name, words in SETS.items():
        of_set = [r for r in rows if r["set"] == name]
        if not of_set:
            continue
        seconds = np.median([r["seconds"] for r in of_set])
        print(f"{words}: {len(of_set)} pairs; {seconds:.2f} s CPU per comparison with its notes (median)")
        for part in parts if name != "unedited" else parts[:2]:
            part(of_set)
        for kind in KINDS:
            mine = [r for r in of_set if r["kind"] == kind]
            if mine:
                print(f"{words}, {kind}")
                print_alignment(mine)
                print_changes(mine)
    for name, stress in STRESS.items():
        mine = [r for r in rows if r["set"] == name]
        if mine:
            print_row(name, stress, mine)
        if mine and stress.has_notes:
            print_notes(mine)


def wrong_pairs(seeds: range) -> None:
    """Lay pictures of different scenes on each other in every way there is: every one must be refused."""
    accepted, scores = [], []
    for seed in seeds:
        for kind in KINDS:
            a, b = make_pair(Recipe(kind, seed)).a, make_pair(Recipe(kind, seed + 1)).b
            laid = lay(a, b)
            scores.append(laid.alignment.readings[0].score if laid.alignment.readings else 0.0)
            if laid.alignment.is_usable:
                accepted.append(f"{kind} {seed}: {', '.join(one.code for one in laid.oddities) or 'plainly'}")
    print(f"pictures of different scenes: {len(accepted)} of {len(scores)} accepted; best score {max(scores):.2f}")
    print("".join(f"  {one}\n" for one in accepted), end="", flush=True)


class Planned(NamedTuple):
    """One pair to be measured, and the set it counts in."""

    set_name: str
    recipe: Recipe
    stress: Stress | None = None
    has_baselines: bool = False

    @property
    def key(self) -> tuple[str, str, int]:
        return self.set_name, self.recipe.kind, self.recipe.seed

    def row(self) -> dict[str, Any]:
        if self.stress and not self.stress.has_notes:
            return {"set": self.set_name, **measure_map(self.recipe, self.stress)}
        return {"set": self.set_name, **measure(self.recipe, baselines=self.has_baselines)}


def planned(options: argparse.Namespace) -> list[Planned]:
    """List the pairs in the order they are measured: seed by seed, so that a stopped run has some of everything."""

    def seeds(count: int) -> range:
        return range(options.first, options.first + count)

    plan = [Planned("plain", Recipe(k, s), has_baselines=s < options.first + options.baselines)
            for s in seeds(options.count) for k in KINDS]  # fmt: skip
    plan += [Planned("others", Recipe(k, s, art="others"), has_baselines=s < options.first + options.baselines)
             for s in seeds(options.others) for k in KINDS]  # fmt: skip
    plan += [Planned("unedited", Recipe(k, s, n_edits=0)) for s in seeds(options.unedited) for k in KINDS]
    plan += [Planned(name, Recipe(k, s, **stress.how), stress)
             for s in seeds(options.stress) for name, stress in STRESS.items() for k in stress.kinds]  # fmt: skip
    return [one for one in plan if not options.only or one.set_name in options.only]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--count", type=int, default=20, help="seeds per kind")
    parser.add_argument("--stress", type=int, default=0, help="seeds per stress row and kind")
    parser.add_argument("--others", type=int, default=0, help="seeds per kind of scenes from other people's drawings")
    parser.add_argument("--unedited", type=int, default=0, help="seeds per kind of pairs in which nothing was edited")
    parser.add_argument("--only", nargs="*", help="names of sets, to measure no others")
    parser.add_argument("--wrong", type=int, default=0, help="seeds of pairs that do not belong together")
    parser.add_argument("--fresh", type=int, metavar="N", help="so many pairs from seeds drawn now; prints the table")
    parser.add_argument(
        "--bills", type=int, metavar="N", help="so many fresh pairs in one frame: is the clean bill true"
    )
    parser.add_argument("--maps", type=int, metavar="N", help="so many fresh pairs only laid, with strangers between")
    parser.add_argument(
        "--seed", type=int, help="with --fresh, --bills or --maps: the first seed of a run that is to be repeated"
    )
    parser.add_argument("--rows", type=Path, help="file the rows are kept in; needed without --fresh")
    parser.add_argument("--baselines", type=int, default=6, help="seeds per kind that simpler methods are measured on")
    options = parser.parse_args()
    if (options.others or options.fresh or options.bills or options.maps) and not is_installed():
        parser.error(MISSING)
    cv2.setNumThreads(1)
    if options.fresh:
        run(options.fresh, options.seed, options.rows)
        return
    if options.bills:
        bills(options.bills, options.seed, options.rows)
        return
    if options.maps:
        maps(options.maps, options.seed, options.rows)
        return
    if options.rows is None:
        parser.error("--rows names the file the rows are kept in")
    rows = [json.loads(line) for line in options.rows.read_text().splitlines()] if options.rows.exists() else []
    done = {(r["set"], r["kind"], r["seed"]) for r in rows}
    with options.rows.open("a") as out:
        for one in planned(options):
            if one.key in done:
                continue
            rows.append(one.row())
            out.write(json.dumps(rows[-1]) + "\n")
            out.flush()
    print_summary(rows)
    if options.wrong:
        wrong_pairs(range(options.first, options.first + options.wrong))


if __name__ == "__main__":
    main()
