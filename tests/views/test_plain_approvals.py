"""What may be approved without a look: that nothing changed counts only where the comparison has its evidence."""

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.models import Comparison, Picture
from reviews.queries.plain_approvals import plain_passages
from tests.cast import gather, sign_in
from tests.letter_scene import opened
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
CLEAN = {"code": "nothing-found", "shared": 100, "from_mm": 45, "in_100": 89, "smaller_in_100": 44}


@pytest.fixture
def scene():
    cast = gather(a_book())
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    opened(cast, passage)
    passage.refresh_from_db()
    return cast, passage, Picture.objects.get(hand_in=passage.hand_in_id).sha256


def compared(sha256, *remarks, changes=(), result=True, before="a"):
    found = {"state": "aligned", "maps": [], "remarks": list(remarks), "changes": list(changes)} if result else None
    return Comparison.objects.create(
        sha256_a=before * 64,
        sha256_b=sha256,
        width_um=1,
        method=f"m{Comparison.objects.count()}",
        result=found,
        made_at=timezone.now() if result else None,
    )


def test_a_first_version_has_nothing_to_be_compared_with(scene):
    cast, passage, _ = scene
    assert plain_passages(cast.book) == [passage.pk]


def test_with_its_evidence_it_may_be_approved_unasked(scene, client):
    cast, passage, sha256 = scene
    compared(sha256, CLEAN)
    assert plain_passages(cast.book) == [passage.pk]
    sign_in(client, cast.art_director.person)
    page = " ".join(client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode().split())
    assert "no difference from it was found, which small changes may escape" in page
    assert "no change found" not in page


@pytest.mark.parametrize(
    "code",
    [
        "not-aligned",
        "check",
        "two-readings",
        "nothing-marked",
        "no-longer-shown",
        "mirrored",
        "no-change",
        "nothing-moved",
    ],
)
def test_nothing_marked_without_evidence_is_no_reason_to_approve(scene, client, code):
    cast, _, sha256 = scene
    compared(sha256, {"code": code})
    assert plain_passages(cast.book) == []
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert "no difference from it was found" not in " ".join(page.split())


def test_neither_is_a_comparison_that_is_not_made_or_found_something(scene):
    cast, _, sha256 = scene
    row = compared(sha256, result=False)
    assert plain_passages(cast.book) == []
    row.delete()
    compared(sha256, {"code": "n-places", "n": 1}, changes=[{}])
    assert plain_passages(cast.book) == []


def test_of_a_pair_compared_twice_the_newest_counts_and_of_two_pairs_both(scene):
    cast, passage, sha256 = scene
    compared(sha256, {"code": "no-change"})
    compared(sha256, CLEAN)
    assert plain_passages(cast.book) == [passage.pk]
    compared(sha256, {"code": "nothing-marked"}, before="c")
    assert plain_passages(cast.book) == []


def test_a_kept_comparison_that_says_both_that_nothing_was_found_and_that_colours_were_not_compared_counts_for_nothing(
    scene,
):
    cast, passage, sha256 = scene
    row = compared(sha256, CLEAN, {"code": "colours-not-compared"})
    assert plain_passages(cast.book) == []
    row.result["remarks"] = [CLEAN]
    row.save()
    assert plain_passages(cast.book) == [passage.pk]
