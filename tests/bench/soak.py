"""Random faults while a user works, as many runs as one likes, and the table of what became of them.

    .venv/bin/python -m tests.bench.soak --runs 200 [--kind "house: S3"] [--seed 7]

Each run starts a whole stack of its own, embedded or house, plays a hand-in, three notes and a letter through one fault
of tests/faults/soak_kinds.py, and looks at what is there afterwards. A user presses again what got no answer. About
half a minute a run. Lost and double count pictures, notes and letters; stuck counts work that was still open or given
up, and pictures still being read, two minutes after the fault.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.faults.soak_kinds import KINDS
from tests.servers import ROOT

SUITE = "tests/faults/test_soak.py"


def chosen_runs(n_runs: int, word: str, seed: int) -> list[str]:
    """Draw the runs: every kind in turn, each with a seed of its own."""
    kinds = [name for name in KINDS if word in name]
    if not kinds:
        sys.exit(f"No kind of fault has “{word}” in its name. There are: {'; '.join(KINDS)}.")
    chance = random.Random(seed)
    order: list[str] = []
    while len(order) < n_runs:
        order += chance.sample(kinds, len(kinds))
    return [f"{name}|{chance.randrange(1_000_000)}" for name in order[:n_runs]]


def table(rows: list[dict]) -> str:
    """Write one line per kind of fault: runs, lost, double, stuck, what the user saw."""
    lines = ["| fault | runs | lost | double | stuck | what the user saw | longest s | settled within s |"]
    lines.append("|-|-|-|-|-|-|-|-|")
    for kind in sorted({row["kind"] for row in rows}):
        own = [row for row in rows if row["kind"] == kind]
        saw: Counter[str] = Counter()
        for row in own:
            saw.update(row["saw"])
        sums = " | ".join(str(sum(row[name] for row in own)) for name in ("lost", "double", "stuck"))
        words = ", ".join(f"{what} ×{n}" for what, n in saw.most_common()) or "–"
        longest, settled = (max(row[name] for row in own) for name in ("longest", "settled"))
        lines.append(f"| {kind} | {len(own)} | {sums} | {words} | {longest} | {settled} |")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=len(KINDS))
    parser.add_argument("--kind", default="", help="only faults with this in their name")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    runs = chosen_runs(asked.runs, asked.kind, asked.seed)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "runs.jsonl"
        out.touch()
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "no:randomly", "-k", "whatever_fails", SUITE],
            cwd=ROOT, env={**os.environ, "SOAK_RUNS": "\n".join(runs), "SOAK_OUT": str(out)}, check=False,
            capture_output=True, text=True,
        )  # fmt: skip
        rows = [json.loads(line) for line in out.read_text().splitlines()]
    if not rows:
        sys.exit(done.stdout[-3000:] + done.stderr[-3000:])
    print(table(rows))
    if len(rows) < len(runs):
        print(f"\n{len(runs) - len(rows)} of {len(runs)} runs came to no end:\n{done.stdout[-2000:]}")
    for row in rows:
        if row["lost"] or row["double"] or row["stuck"] or row["ledger"]:
            print(f"\n{row['kind']}, seed {row['seed']}: {row['where']} {row['ledger']}")
    sys.exit(done.returncode)


if __name__ == "__main__":
    main()
