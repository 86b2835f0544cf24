"""The ready names for stages, in the words of the trade."""

from __future__ import annotations

import pytest

from reviews.pages.wording.stage_names import CARRIES, READY_NAME_WORDS, READY_NAMES
from reviews.rules.stage_names import checked_names, name_of
from reviews.rules.states import StageKind


@pytest.mark.parametrize("code", READY_NAMES)
def test_they_name_every_stage_and_stand_together(code):
    names = {kind: str(name) for kind, name in READY_NAMES[code].items()}
    assert set(names) == set(StageKind) == set(CARRIES)
    own = checked_names(names, {}, opened=())
    assert {name_of(kind, own) for kind in StageKind} == set(names.values())
    assert code in READY_NAME_WORDS
