"""Read the code of a refusal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from reviews.rules.states import Refused


def refusal(deed: Callable[..., Any], *args: Any, **kwargs: Any) -> str:
    """Do what must be refused, and give the code that refused it."""
    with pytest.raises(Refused) as refused:
        deed(*args, **kwargs)
    return refused.value.code
