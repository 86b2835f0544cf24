import pytest

from reviews.rules.forecast.network import Activity, ThreePoint, critical_path, in_order, nearest_rank
from reviews.rules.refusals import sentence_for
from reviews.rules.states import Refused

ONE = ThreePoint(1, 1, 1)


def refused(call):
    with pytest.raises(Refused) as found:
        call()
    return sentence_for(found.value)


@pytest.mark.parametrize("points", [(2, 1, 3), (1, 4, 3), (-1, 0, 1), (1, 2, float("inf")), (float("nan"), 1, 2)])
def test_three_points_out_of_order_are_refused(points):
    assert "Put them in order" in refused(lambda: ThreePoint(*points))


def test_a_plan_in_a_circle_is_refused():
    circle = [Activity("a", ONE, ("b",)), Activity("b", ONE, ("a",))]
    assert "a, b" in refused(lambda: in_order(circle))


def test_a_step_that_is_missing_is_refused():
    assert "“z”" in refused(lambda: in_order([Activity("a", ONE, ("z",))]))


def test_an_empty_network_takes_no_time():
    assert critical_path([]).mean == 0


def test_a_certain_plan_is_certain():
    path = critical_path([Activity("a", ONE), Activity("b", ONE, ("a",))])
    assert path.chance_within(1.9) == 0
    assert path.chance_within(2) == 1


@pytest.mark.parametrize(("share", "expected"), [(0.1, 1), (0.5, 5), (0.8, 8), (0.81, 9), (1, 10)])
def test_nearest_rank(share, expected):
    assert nearest_rank(range(1, 11), share) == expected
