"""The import contracts of pyproject.toml hold, and each breaks when its breach is planted."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.servers import ROOT

# File, line to plant there, and the contract that must report it.
BREACHES = [
    ("reviews/rules/contract/rounds_implied.py", "import reviews.models.books", "Imports point down only"),
    ("reviews/models/books.py", "import reviews.actions.jobs", "Imports point down only"),
    ("reviews/actions/jobs.py", "import reviews.views.demo_sign_in", "Imports point down only"),
    ("reviews/press/pages.py", "import reviews.rules.states", "Imports point down only"),
    ("reviews/actions/jobs.py", "import reviews.pages.desk", "Imports point down only"),
    ("reviews/pages/desk.py", "import reviews.actions.jobs", "Imports point down only"),
    ("reviews/queries/frames.py", "import reviews.pages.desk", "Imports point down only"),
    ("reviews/rules/contract/days.py", "import reviews.imaging.limits", "Imports point down only"),
    ("reviews/shared_bits.py", "", "Imports point down only"),
    ("reviews/jobs.py", "import portal.celery", "The platform stands on the application"),
    ("reviews/press/pages.py", "import django.conf", "The pure floors know no web"),
    ("reviews/rules/contract/days.py", "import numpy", "Rules and geometry are plain Python"),
    ("reviews/geometry.py", "import numpy", "Rules and geometry are plain Python"),
    ("reviews/actions/jobs.py", "import reviews.imaging.changes.registration", "A request never loads pixels"),
    ("reviews/imaging/changes/registration.py", "def late():\n    import pyvips", "One file opens libvips"),
    ("reviews/tasks/runner.py", "import reviews.actions._ledger", "One file appends history"),
    ("reviews/views/demo_sign_in.py", "import reviews.actions._ledger", "One file appends history"),
    ("reviews/forms/planted.py", "import reviews.imaging.decode", "A hand-in is opened in the background"),
]
# A view needs an action before a breach below the action can reach it.
ALSO = {"A request never loads pixels": ("reviews/views/demo_sign_in.py", "import reviews.actions.jobs")}


def lint(folder: Path) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as l; l()", "--no-cache"],
        cwd=folder, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


def broken(output: str) -> list[str]:
    return [line.removesuffix(" BROKEN").strip() for line in output.splitlines() if " BROKEN" in line]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Return a copy of the code that a breach may be planted in."""
    for name in ("portal", "reviews"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def plant(folder: Path, file: str, line: str) -> None:
    with (folder / file).open("a") as handle:
        handle.write(f"\n{line}\n")


def test_all_contracts_hold():
    done = lint(ROOT)
    assert broken(done.stdout) == [], done.stdout
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


@pytest.mark.slow
@pytest.mark.parametrize(("file", "line", "contract"), BREACHES)
def test_planted_breach_is_reported(copy, file, line, contract):
    plant(copy, file, line)
    if contract in ALSO:
        plant(copy, *ALSO[contract])
    done = lint(copy)
    if "does not exist" in done.stdout or "not found" in done.stdout:
        pytest.fail(done.stdout)
    assert done.returncode != 0
    # A module on no floor stops the check before any contract is named.
    named = broken(done.stdout) or [name for name in [contract] if "shared_bits" in done.stdout]
    assert any(name.startswith(contract) for name in named), done.stdout
