"""What of all that may be a change is shown: how sure it has to be follows the hand that drew it anew."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from reviews.imaging.changes import ranking
from reviews.imaging.changes.candidates import Candidate
from reviews.imaging.changes.ranking import Ranked, rank_candidates
from reviews.imaging.changes.regions import FoundRegion
from reviews.imaging.changes.scores import Score
from reviews.imaging.changes.similar_figures import SimilarFigure

BOX = (100.0, 100.0, 140.0, 150.0)


@pytest.fixture
def ranked(monkeypatch):
    """Rank one figure that was resized, or one heap of loose lines, at a score and under a hand of one's choice."""
    monkeypatch.setattr(ranking, "features_of", lambda page, candidate: {"sure": page.sure})
    for name, least in (("SIMILAR", 0.5), ("LINES", 0.45), ("HINT_LINES", 0.4)):
        monkeypatch.setattr(ranking, name, Score(("sure",), {"sure": 1.0}, bias=0.0, least=least))

    def of(score: float, looseness: float, *, is_resized: bool = True) -> Ranked:
        figure = SimilarFigure(old=BOX, new=BOX, scale=0.82, turn_deg=0.0, ncc=0, gain=0, mass_mm=9, explained={})
        region = FoundRegion(label="changed", old=BOX, new=BOX, mass_mm=9.0)
        one = Candidate(region, "similar", figure) if is_resized else Candidate(region, "small-heap")
        page = SimpleNamespace(
            candidates=[one], pair=SimpleNamespace(looseness=looseness), sure=np.log(score / (1 - score))
        )
        return rank_candidates(page)  # type: ignore[arg-type]

    return of


@pytest.mark.parametrize(("score", "looseness"), [(0.3, 1.0), (0.3, 1.05), (0.4, 1.2), (0.6, 3.0)])
def test_a_figure_resized_by_little_is_shown_and_named_where_the_hand_is_steady_enough(ranked, score, looseness):
    ((place, _),) = ranked(score, looseness).shown
    assert place.scale == 0.82


@pytest.mark.parametrize(("score", "looseness"), [(0.22, 1.0), (0.3, 1.2), (0.45, 1.5), (0.45, 3.0)])
def test_under_a_free_hand_the_same_is_only_a_place_that_may_have_changed(ranked, score, looseness):
    found = ranked(score, looseness)
    assert not found.shown and len(found.unsure) == 1


def test_loose_lines_need_one_score_whatever_the_hand(ranked):
    for looseness in (1.0, 3.0):
        assert not ranked(0.4, looseness, is_resized=False).shown
        assert ranked(0.5, looseness, is_resized=False).shown
