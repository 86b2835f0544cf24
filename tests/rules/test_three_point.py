import pytest

from reviews.pages.wording.refusals import sentence_for
from reviews.rules.forecast.three_point import ThreePoint
from reviews.rules.states import Refused


@pytest.mark.parametrize("points", [(2, 1, 3), (1, 4, 3), (-1, 0, 1), (1, 2, float("inf")), (float("nan"), 1, 2)])
def test_three_points_out_of_order_are_refused(points):
    with pytest.raises(Refused) as refused:
        ThreePoint(*points)
    assert "Put them in order" in sentence_for(refused.value)
