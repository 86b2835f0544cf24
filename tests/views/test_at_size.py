"""A whole book's worth of rows: twenty spreads of eight stages, six letters; the pages ask no more than a small one."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions import letters, notes
from reviews.models import Letter, Passage
from reviews.press.page_plan import EndsKind
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Gate, StageKind
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

EIGHT = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (
        StageKind.IDEAS,
        StageKind.SKETCH,
        StageKind.FULL_SKETCH,
        StageKind.LINE,
        StageKind.INK,
        StageKind.FLATS,
        StageKind.COLOUR,
        StageKind.PROOF,
    )
)

STAGE_DAYS = tuple(StageDays(stage.kind.value, 5, 5) for stage in EIGHT)


@pytest.fixture
def cast():
    cast = gather(a_book(n_pages=40, ends=EndsKind.SELF, inside=EIGHT, cover=EIGHT))
    passages = Passage.objects.filter(book=cast.book, stage__kind="ideas").order_by("spread__position")
    for letter in range(6):
        for passage in passages[letter : letter + 3]:
            if passage.state == "answering":
                continue
            handed_in(passage, cast.illustrator, [letter])
            pinned(passage, cast.editor, f"Change {letter}.", cause="direction")
            answered(cast, passage, "ask")
        sent(cast, over=True)
    return cast


def test_pages_take_at_most_twelve_queries(cast, client, django_assert_max_num_queries):
    assert Passage.objects.filter(book=cast.book).count() == 160
    assert Letter.objects.filter(book=cast.book, sent_at__isnull=False).count() == 6
    some = Passage.objects.filter(book=cast.book, hand_in__isnull=False).first()
    paths = [reverse("reviews:desk"), reverse("reviews:passage", args=[some.pk])]
    of_book = ("book-map", "account", "statement", "schedule")
    paths += [reverse(f"reviews:{name}", args=[cast.book.pk]) for name in of_book]
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        client.get(reverse("reviews:schedule", args=[cast.book.pk]))  # asks for the forecast once
        client.get(paths[1])  # that it lay open is kept once, by one query more
        for path in paths:
            with django_assert_max_num_queries(12):
                assert client.get(path).status_code == 200, path


@pytest.mark.parametrize("has_terms", [False, True])
def test_the_draft_and_the_page_before_sending_take_a_fixed_number_of_queries(
    cast, client, django_assert_max_num_queries, has_terms
):
    """Ten spreads are answered with notes, weighed and replied to: nothing kept from a count before can help."""
    if has_terms:
        enter(cast, stages=STAGE_DAYS, groups=())
    waiting = Passage.objects.filter(book=cast.book, stage__kind="ideas").order_by("spread__position")[8:18]
    for passage in waiting:
        handed_in(passage, cast.illustrator, [9])
        note = pinned(passage, cast.editor, "Turn her head.", cause="direction")
        letters.weigh_note(note.pk, weighing="through", actor=cast.art_director)
        answered(cast, passage, "ask")
    notes.reply(note.pk, "As on the page before.", actor=cast.art_director)
    sign_in(client, cast.art_director.person)
    paths = [
        reverse("reviews:draft-letter", args=[cast.book.pk]),
        reverse("reviews:send-letter", args=[draft_of(cast).pk]),
    ]
    for path in paths:
        with django_assert_max_num_queries(12):
            page = client.get(path)
        assert page.status_code == 200
        assert page.content.decode().count("Pages 2") > 4
