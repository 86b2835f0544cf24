"""What the type checker looks at: everything but what is named here, and the pure floors strictly."""

from __future__ import annotations

import re
import tomllib

from mypy.main import process_options

from tests.servers import ROOT

MYPY = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]

#: This list may only become shorter.
NOT_CHECKED = {"reviews.migrations.*", "reviews.demo.*"}
PURE = {"reviews.rules.*", "reviews.imaging.*", "reviews.press.*", "reviews.geometry"}


def overriding(flag: str) -> list[dict[str, object]]:
    return [override for override in MYPY["overrides"] if flag in override]


def test_both_packages_are_checked_but_for_what_is_named_here():
    assert MYPY["packages"] == ["portal", "reviews"]
    assert "exclude" not in MYPY and "ignore_errors" not in MYPY
    assert {module for override in overriding("ignore_errors") for module in override["module"]} == NOT_CHECKED
    missing = {module for override in overriding("ignore_missing_imports") for module in override["module"]}
    assert not {module for module in missing if module.startswith(("portal", "reviews"))}


def test_the_pure_floors_have_every_flag_of_strict():
    lax, strict = (process_options(["--config-file=", *more, "-c", ""])[1].snapshot() for more in ([], ["--strict"]))
    wanted = {flag for flag in lax if lax[flag] != strict[flag]}
    assert "disallow_any_generics" in wanted
    (pure,) = overriding("disallow_any_generics")
    assert set(pure["module"]) == PURE
    # In the file one of them is told the other way round.
    told = {flag.replace("no_implicit_reexport", "implicit_reexport") for flag in MYPY.keys() | pure.keys()}
    assert wanted - told == set()


def test_whatever_the_checker_is_told_to_overlook_is_named():
    bare = re.compile(r"#\s*type:\s*ignore(?!\[[a-z-]+\])")
    files = [path for folder in ("portal", "reviews") for path in ROOT.joinpath(folder).rglob("*.py")]
    assert [str(path) for path in files if bare.search(path.read_text())] == []
    assert bare.search("x = y  # type: ignore") and not bare.search("x = y  # type: ignore[misc]")
