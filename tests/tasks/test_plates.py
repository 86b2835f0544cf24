"""A plate of a special finish holds only the finished shapes: it is laid under the art, and never compared with it."""

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.models import Comparison, Passage
from reviews.pages.changes import comparisons_of
from reviews.queries.comparisons import forerunners
from tests.cast import gather, sign_in
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book
from tests.tasks.test_comparisons import OWL, OWL_AFTER, a_drawing, deliver, do_all

pytestmark = pytest.mark.django_db


@pytest.fixture
def cover():
    """A cover whose colour is approved, so that its plate is asked for."""
    cast = gather(a_book())
    colour = cast.passage("Cover", "colour")
    Passage.objects.filter(pk=colour.pk).update(state="drawing")
    deliver(cast, colour, a_drawing(OWL))
    answered(cast, colour, "approve")
    sent(cast)
    return cast, cast.passage("Cover", "finish")


def test_a_plate_is_not_compared_with_the_art(cover):
    cast, finish = cover
    plate = deliver(cast, finish, a_drawing(OWL_AFTER))
    assert forerunners(finish, plate) == []
    assert not Comparison.objects.exists()


def test_what_was_once_compared_with_the_art_is_not_shown(cover, client):
    cast, finish = cover
    art = cast.passage("Cover", "colour").approved_picture
    plate = deliver(cast, finish, a_drawing(OWL_AFTER))
    remark = {"code": "as-told", "words": "Everything is gone."}
    result = {"state": "aligned", "maps": [], "remarks": [remark], "changes": []}
    pair = {"sha256_a": art.sha256, "sha256_b": plate.pictures.get().sha256, "width_um": 1}
    Comparison.objects.create(**pair, method="an older one", result=result, made_at=timezone.now())
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:changes", args=[finish.pk])).content.decode()
    assert "Everything is gone." not in page and "Changed since" not in page
    assert "The plate and the approved colour" in page
    assert "it is not compared with the art" in page and "Overlay the art" in page


def test_the_art_is_laid_over_its_plate_by_the_edges_of_the_page(cover):
    cast, finish = cover
    plate = deliver(cast, finish, a_drawing(OWL_AFTER))
    [pair] = comparisons_of(finish, list(plate.pictures.all()), cast.art_director)
    assert (pair["result"]["state"], pair["places"]) == ("by-page", [])
    [laying] = pair["result"]["maps"]
    assert [round(number, 6) for number in laying.values()] == [1, 0, 0, 0, 1, 0]
    assert pair["before"]["id"] == cast.passage("Cover", "colour").approved_picture_id


def test_where_the_pages_cannot_be_matched_nobody_is_told_to_lay_the_art_over_the_plate(cover, monkeypatch):
    cast, finish = cover
    plate = deliver(cast, finish, a_drawing(OWL_AFTER))
    monkeypatch.setattr("reviews.pages.changes.frame_of", lambda *_: None)
    [pair] = comparisons_of(finish, list(plate.pictures.all()), cast.art_director)
    assert (pair["result"]["state"], pair["result"]["maps"]) == ("not-aligned", [])
    assert [remark["code"] for remark in pair["result"]["remarks"]] == ["plate-not-compared", "art-beside-only"]


@pytest.mark.slow
def test_a_second_plate_is_compared_with_the_first(cover):
    cast, finish = cover
    deliver(cast, finish, a_drawing(OWL))
    pinned(finish, cast.production, "Open the star.", cause="direction")
    answered(cast, finish, "ask")
    sent(cast)
    second = deliver(cast, finish, a_drawing(OWL_AFTER))
    do_all("compare")
    pairs = comparisons_of(finish, list(second.pictures.all()), cast.art_director)
    assert [pair["name"] for pair in pairs] == ["hand-in 1", "the approved colour"]
    assert pairs[0]["places"] and not pairs[1]["places"]
