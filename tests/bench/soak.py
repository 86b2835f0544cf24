"""Random faults while a user works, as many runs as one likes, and the table of what became of them.

    .venv/bin/python -m tests.bench.soak --runs 200 [--kind "house: S3"] [--seed 7] [--out RUNS.jsonl] [--limit 600]
    .venv/bin/python -m tests.bench.soak --list
    .venv/bin/python -m tests.bench.soak --out RUNS.jsonl --table

Each run starts a whole stack of its own, embedded or house, plays a hand-in, three notes and a letter through one fault
of tests/faults/soak_kinds.py, and looks at what is there afterwards. A user presses again what got no answer. About
half a minute a run. Lost counts pictures, their bytes, notes and letters, double the same but bytes. Stuck counts, two
minutes after the fault, work still open or given up, mails not sent and pictures still being read; a step at which a
user gave up; and a run that came to no end within its limit. Felt counts the runs in which the fault met something: a
process that was there to be killed, a connection that failed.

With --out the runs are kept as they come, one line each, and a soak that was ended goes on where it stopped: the same
runs and seed draw the same faults.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from reviews.imaging.changes.sureness import exact_interval
from tests.faults.soak_kinds import KINDS
from tests.faults.soak_rig import N_PICTURES, WORDS
from tests.servers import ROOT

SUITE = "tests/faults/test_soak.py"
THINGS_A_RUN = N_PICTURES + len(WORDS) + 1  # pictures, notes, and the letter


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


def still_to_run(runs: list[str], rows: list[dict]) -> list[str]:
    """Leave out what stands in the output already."""
    done = {f"{row['kind']}|{row['seed']}" for row in rows}
    return [run for run in runs if run not in done]


def table(rows: list[dict]) -> str:
    """Write one line per kind of fault: runs, in how many it was felt, lost, double, stuck, what the user saw."""
    lines = ["| fault | runs | felt in | lost | double | stuck | what the user saw | longest s | settled within s |"]
    lines.append("|-|-|-|-|-|-|-|-|-|")
    for kind in sorted({row["kind"] for row in rows}):
        own = [row for row in rows if row["kind"] == kind]
        saw: Counter[str] = Counter()
        for row in own:
            saw.update(row["saw"])
        sums = " | ".join(str(sum(row[name] for row in own)) for name in ("lost", "double", "stuck"))
        words = ", ".join(f"{what} ×{n}" for what, n in saw.most_common()) or "–"
        longest, settled = (max(row[name] for row in own) for name in ("longest", "settled"))
        n_felt = sum(row["felt"] > 0 for row in own)
        lines.append(f"| {kind} | {len(own)} | {n_felt} | {sums} | {words} | {longest} | {settled} |")
    return "\n".join(lines)


def sure(rows: list[dict]) -> str:
    """Say in how many runs something was lost, double or stuck, each with its exact 95 % interval over the runs.

    Over runs, not over pictures and notes: what lies in one run shares its fault, so its things are not independent.
    """
    n_kinds = len({row["kind"] for row in rows})
    lines = [f"{len(rows)} runs of {n_kinds} kinds, {len(rows) * THINGS_A_RUN} pictures, notes and letters."]
    for name in ("lost", "double", "stuck", "ledger"):
        n_bad = sum(bool(row[name]) for row in rows)
        low, high = exact_interval(n_bad, len(rows))
        lines.append(f"{name}: in {n_bad} of {len(rows)} runs, 95 % between {low:.2%} and {high:.2%} (Clopper–Pearson)")
    return "\n".join(lines)


def rows_of(out: Path) -> list[dict]:
    return [json.loads(line) for line in out.read_text().splitlines()] if out.exists() else []


def play(runs: list[str], out: Path, limit: int) -> tuple[int, str]:
    """Run them in one pytest and give its code and its last words; who ends us ends it, and it stops its servers."""
    with tempfile.TemporaryFile("w+") as words:
        process = subprocess.Popen(
            [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:randomly", "-k", "whatever_fails", SUITE],
            cwd=ROOT, stdout=words, stderr=words, stdin=subprocess.DEVNULL,
            env={**os.environ, "SOAK_RUNS": "\n".join(runs), "SOAK_OUT": str(out), "SOAK_LIMIT": str(limit)},
            # A shell starts what is in the background deaf to Ctrl-C, and pytest takes its leave by nothing else.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )  # fmt: skip
        signal.signal(signal.SIGTERM, lambda *_: process.send_signal(signal.SIGINT))
        with contextlib.suppress(KeyboardInterrupt):
            process.wait()
        process.wait()
        words.seek(0)
        return process.returncode, words.read()[-3000:]


def told(rows: list[dict], n_wanted: int) -> None:
    print(table(rows))
    print(f"\n{sure(rows)}")
    if len(rows) < n_wanted:
        print(f"\n{n_wanted - len(rows)} of {n_wanted} runs are not there.")
    for row in rows:
        if row["lost"] or row["double"] or row["stuck"] or row["ledger"]:
            print(f"\n{row['kind']}, seed {row['seed']}: {row['where']} {row['ledger']}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=len(KINDS))
    parser.add_argument("--kind", default="", help="only faults with this in their name")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, help="keep each run here as it ends, and go on from what stands here")
    parser.add_argument("--limit", type=int, default=600, help="seconds after which a run is ended as stuck")
    parser.add_argument("--list", action="store_true", help="name the kinds and end")
    parser.add_argument("--table", action="store_true", help="run nothing; print the table of what stands in --out")
    asked = parser.parse_args()
    if asked.list:
        print("\n".join(sorted(KINDS)))
        return
    with tempfile.TemporaryDirectory() as folder:
        out = (asked.out or Path(folder) / "runs.jsonl").absolute()
        runs = chosen_runs(asked.runs, asked.kind, asked.seed)
        waiting = [] if asked.table else still_to_run(runs, rows_of(out))
        code, words = play(waiting, out, asked.limit) if waiting else (0, "")
        rows = rows_of(out)
    if not rows:
        sys.exit(words or "There are no runs to tell of.")
    told(rows, len(rows) if asked.table else len(runs))
    if code:
        print(words)
    sys.exit(1 if code or any(row[name] for row in rows for name in ("lost", "double", "stuck", "ledger")) else 0)


if __name__ == "__main__":
    main()
