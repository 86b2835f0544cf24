"""The scripts are modules, and what checks them finds a fault where there is one."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.servers import ROOT, program

TOOLS = ROOT / ".ci" / "scripts"
A_SLIP = 'export const n = 1;\nif (n == "1") {\n  document.querySelector("a").hreff = n.length;\n}\n'


def tool(name: str) -> str:
    program("node", package="nodejs")
    return program(name, package="npm, then run npm ci --prefix .ci/scripts", also_in=[TOOLS / "node_modules" / ".bin"])


@pytest.fixture
def slip(tmp_path: Path) -> Path:
    """A folder like ours, with one faulty script in it."""
    tools = tmp_path / ".ci" / "scripts"
    shutil.copytree(TOOLS, tools, ignore=shutil.ignore_patterns("node_modules"))
    (tools / "node_modules").symlink_to(TOOLS / "node_modules")
    path = tmp_path / "static" / "js" / "slip.js"
    path.parent.mkdir(parents=True)
    path.write_text(A_SLIP)
    return tmp_path


@pytest.mark.slow
def test_a_property_that_is_not_there_is_found(slip):
    said = subprocess.run([tool("tsc"), "-p", ".ci/scripts"], cwd=slip, capture_output=True, text=True, check=False)
    assert said.returncode != 0
    assert "Property 'hreff' does not exist" in said.stdout
    assert "the types 'number' and 'string' have no overlap" in said.stdout


@pytest.mark.slow
def test_a_loose_comparison_is_found(slip):
    command = [tool("eslint"), "--config", ".ci/scripts/eslint.config.js", "static/js"]
    said = subprocess.run(command, cwd=slip, capture_output=True, text=True, check=False)
    assert said.returncode == 1
    assert "eqeqeq" in said.stdout


def test_every_script_of_ours_is_a_module_and_none_stands_in_a_page():
    found = [
        (page.name, tag, words.strip())
        for page in sorted(ROOT.joinpath("templates").rglob("*.html"))
        for tag, words in re.findall(r"<script\b([^>]*)>(.*?)</script>", page.read_text(), re.DOTALL)
        if 'type="application/json"' not in tag
    ]
    assert len(found) > 8
    assert [words for _, _, words in found if words] == []
    plain = [tag for _, tag, _ in found if 'type="module"' not in tag]
    assert ["leaflet/leaflet.js" in tag for tag in plain] == [True]


def test_a_page_that_a_script_reads_is_read_in_one_way():
    """Read in any other, it would take away what is to be told once: `read-page.js`. A POST's own answer may tell."""
    asks = {
        path.relative_to(ROOT / "static" / "js").as_posix()
        for path in ROOT.joinpath("static", "js").rglob("*.js")
        if "DOMParser" in path.read_text()
    }
    # closed-days reads a part that has no strips, letter-draft the answer of a press.
    assert asks == {"read-page.js", "closed-days.js", "letter/letter-draft.js"}
