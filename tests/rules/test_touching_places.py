"""One new figure that was found in two touching pieces is one place; what only lies near it is not."""

from reviews.rules.touching_places import TOUCHING, joined_places


def change(label: str, x0: float, x1: float, *, only: str = "on_b") -> dict:
    box = {"x0": x0, "y0": 0.2, "x1": x1, "y1": 0.4}
    return {"label": label, "vector_mm": None} | {
        name: box if name == only else None for name in ("old", "new", "on_b")
    }


def spans(changes: list[dict], only: str = "on_b") -> list[tuple[float, float]]:
    return [(one[only]["x0"], one[only]["x1"]) for one in joined_places(changes)]


def test_pieces_that_touch_are_one_place_and_it_stands_where_the_first_did():
    found = [change("added", 0.1, 0.3), change("added", 0.7, 0.8), change("added", 0.3, 0.5)]
    assert spans(found) == [(0.1, 0.5), (0.7, 0.8)]


def test_a_piece_between_two_joins_all_three():
    found = [change("added", 0.1, 0.2), change("added", 0.3, 0.4), change("added", 0.2, 0.3)]
    assert spans(found) == [(0.1, 0.4)]


def test_what_lies_apart_or_is_of_another_kind_stays_apart():
    apart = [change("added", 0.1, 0.2), change("added", 0.2 + 3 * TOUCHING, 0.4)]
    assert spans(apart) == [(0.1, 0.2), (0.2 + 3 * TOUCHING, 0.4)]
    kinds = [change("added", 0.1, 0.3), change("removed", 0.3, 0.4), change("changed", 0.3, 0.5)]
    assert len(joined_places(kinds)) == 3
    assert len(joined_places([change("changed", 0.1, 0.3), change("changed", 0.3, 0.5)])) == 2


def test_what_is_gone_is_joined_on_the_earlier_picture():
    gone = [change("removed", 0.1, 0.3, only="old"), change("removed", 0.25, 0.5, only="old")]
    assert spans(gone, "old") == [(0.1, 0.5)]
    assert joined_places([]) == []
