"""Where marks on an option agree and where they do not."""

from __future__ import annotations

import pytest

from reviews.rules.option_marks import Leaning, leaning


@pytest.mark.parametrize(
    ("verdicts", "lies"),
    [
        ([], Leaning.UNMARKED),
        (["this"], Leaning.CLOSEST),
        (["this", "maybe"], Leaning.CLOSEST),
        (["this", "not_this"], Leaning.DIVIDED),
        (["this", "this", "maybe", "not_this"], Leaning.DIVIDED),
        (["maybe"], Leaning.MAYBE),
        (["maybe", "not_this"], Leaning.NOT_THIS),
        (["not_this"], Leaning.NOT_THIS),
    ],
)
def test_how_marks_lie(verdicts, lies):
    assert leaning(verdicts) == lies
