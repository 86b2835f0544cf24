"""Each library we ask for is used where it is asked for: at run time outside tests, for development only there."""

from __future__ import annotations

import ast
import re
import tomllib
from functools import cache
from pathlib import Path

import pytest

from tests.servers import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]

#: The names under which some are imported, or named in a setting.
IMPORTED_AS = {
    "django-csp": "csp",
    "django-leaflet": "leaflet",
    "django-storages": "storages",
    "opencv-python-headless": "cv2",
    "pillow": "PIL",
    "pyyaml": "yaml",
    "scikit-image": "skimage",
}

#: Libraries that another one loads, or a command line: where that is written, and how.
LOADED_BY = {
    "argon2-cffi": ("portal/settings/doors.py", "hashers.Argon2PasswordHasher"),
    "gunicorn": ("docker-compose.yml", "gunicorn portal.wsgi"),
    "psycopg": ("portal/settings/kept.py", "DATABASE_URL"),
    "pyvips-binary": ("reviews/imaging/_vips.py", "import pyvips"),
    "redis": ("portal/settings/work.py", "REDIS_URL"),
    "djhtml": (".ci/check", "djhtml"),
    "import-linter": (".ci/check", "lint-imports"),
    "mypy": (".ci/check", "mypy"),
    "ruff": (".ci/check", "ruff"),
    "django-stubs": ("pyproject.toml", "mypy_django_plugin.main"),
    "pytest-django": ("pyproject.toml", "DJANGO_SETTINGS_MODULE"),
    "pytest-randomly": ("DEVELOPERS.md", "random order"),
    "pytest-xdist": (".ci/check", "pytest -n"),
    "flask": ("tests/servers.py", "from moto.server import"),
    "flask-cors": ("tests/servers.py", "from moto.server import"),
}

#: Asked for and not used yet; this list may only become shorter.
EXCUSED: set[str] = set()


def names(requirements: list[str]) -> list[str]:
    """Give the libraries' names without extras and bounds."""
    return [re.split(r"[\[<>=~! ]", line)[0].lower() for line in requirements]


RUN_TIME = names(PROJECT["dependencies"])
DEVELOPMENT = names(PROJECT["optional-dependencies"]["dev"])


@cache
def imported(folders: tuple[str, ...]) -> set[str]:
    """Name the top packages that the code of some folders imports, or names at the head of a dotted string."""
    found: set[str] = set()
    for path in [path for folder in folders for path in ROOT.joinpath(folder).rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.split(".")[0])
            elif "settings" in path.parts and isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value.split(".")[0])
    return found


def is_used(name: str, folders: tuple[str, ...]) -> bool:
    """Say whether a library is imported there, or loaded by what is named in ``LOADED_BY``."""
    if name in LOADED_BY:
        where, how = LOADED_BY[name]
        return how in Path(ROOT, where).read_text()
    return IMPORTED_AS.get(name, name.replace("-", "_")) in imported(folders)


@pytest.mark.parametrize("name", RUN_TIME)
def test_what_is_needed_at_run_time_is_used_outside_tests(name):
    assert is_used(name, ("reviews", "portal")) != (name in EXCUSED)


@pytest.mark.parametrize("name", DEVELOPMENT)
def test_what_is_for_development_is_used_by_it_and_nowhere_else(name):
    assert is_used(name, ("tests",))
    assert IMPORTED_AS.get(name, name.replace("-", "_")) not in imported(("reviews", "portal"))


def test_nothing_is_asked_for_twice():
    assert set(RUN_TIME) & set(DEVELOPMENT) == set()


def test_a_library_that_nobody_uses_would_be_found():
    assert not is_used("no-such-library", ("reviews", "portal", "tests"))
