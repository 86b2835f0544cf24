"""Which Roughproof this is: the version that pyproject.toml gives, read once."""

import tomllib
from functools import lru_cache
from pathlib import Path

PYPROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"


@lru_cache(maxsize=1)
def version() -> str:
    """Return the version, such as 0.1.0."""
    with PYPROJECT.open("rb") as file:
        return str(tomllib.load(file)["project"]["version"])
