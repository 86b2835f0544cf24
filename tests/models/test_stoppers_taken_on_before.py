"""Stoppers taken on before their figures were kept get those that the ledger tells."""

from __future__ import annotations

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from reviews.actions.taken_faults import take_on_fault
from reviews.models import Picture, TakenFault
from reviews.queries.held_check import check_held
from reviews.queries.stoppers import open_stoppers
from tests.cast import gather
from tests.letter_scene import approved
from tests.makers import a_book, handed_in
from tests.views.test_stoppers import REASON, SMALL, STAGES, seen

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

BEFORE = ("reviews", "0065_measured_proofs")


def test_what_was_taken_on_keeps_the_figures_of_its_entry():
    cast = gather(a_book(inside=STAGES))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    proof = cast.passage("Pages 4–5", "proof")
    handed_in(proof, cast.production, [2])
    art = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))
    Picture.objects.filter(pk=art.pk).update(facts=SMALL)
    take_on_fault(
        proof.pk, picture_id=art.pk, code="too-few-pixels", seen=seen(proof), reason=REASON, actor=cast.production
    )
    told = TakenFault.objects.get().values
    executor = MigrationExecutor(connection)
    leaves = executor.loader.graph.leaf_nodes("reviews")
    try:
        executor.migrate([BEFORE])
    finally:
        MigrationExecutor(connection).migrate(leaves)
    assert told["ppi"] == 25 and TakenFault.objects.get().values == told
    assert open_stoppers(cast.passage("Pages 4–5", "proof")) == [] and not check_held(cast.book).faults
