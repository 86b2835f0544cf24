"""On whom a passage waits, for every role at once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reviews.pages.wording.waiting import asks_words, detail_words
from reviews.rules.states import PassageState, Role, StageKind
from reviews.rules.waiting import Facts, waits

DRAWING = Facts(stage=StageKind.SKETCH, state=PassageState.DRAWING)
ANSWERING = Facts(stage=StageKind.SKETCH, state=PassageState.ANSWERING)
TWO_VOICES = replace(ANSWERING, two_voices=True)
PENDING = replace(TWO_VOICES, is_pending=True)
PROOF = Facts(stage=StageKind.PROOF, state=PassageState.ANSWERING)
IDEAS = Facts(stage=StageKind.IDEAS, state=PassageState.ANSWERING)
IL, AD, E, AG, P, G = (
    Role.ILLUSTRATOR,
    Role.ART_DIRECTOR,
    Role.EDITOR,
    Role.AGENT,
    Role.PRODUCTION,
    Role.GUEST,
)
AU, D, S, R = Role.AUTHOR, Role.DESIGNER, Role.SALES, Role.READER


@pytest.mark.parametrize(
    ("facts", "on_me"),
    [
        (DRAWING, {IL}),
        (ANSWERING, {AD, E, D, G}),
        (TWO_VOICES, {AD, E, D, G}),
        (PENDING, {E, G}),
        (replace(PENDING, has_voice=True), {G}),
        (replace(ANSWERING, n_own=1), {AD, G}),
        (replace(ANSWERING, has_marked=True), {AD, E, D}),
        (replace(ANSWERING, is_in_letter=True), {E, D, G}),  # the letter itself waits on the art director
        (PROOF, {AD, E, P, D, G}),
        (replace(PROOF, stage=StageKind.FINISH), {AD, P, D, G}),
        (replace(PROOF, n_own=2), {AD, G}),
        (replace(DRAWING, is_late=True), {IL, AG}),
        (replace(ANSWERING, is_late=True), {AD, E, AG, D, G}),
        (replace(DRAWING, n_over=1), {IL, AG}),
        # Author and expert reader are asked by name; sales about the options of the cover.
        (replace(ANSWERING, is_asked=True), {AD, E, D, G, AU, R}),
        (replace(ANSWERING, is_asked=True, n_own=1), {AD, G}),
        (replace(ANSWERING, is_asked=True, has_looked=True), {AD, G}),
        (replace(DRAWING, is_asked=True), {IL}),
        (replace(IDEAS, is_cover=True), {AD, E, D, G, S}),
        (replace(IDEAS, is_cover=True, has_marked=True), {AD, E, D}),
        (replace(ANSWERING, is_cover=True), {AD, E, D, G}),
    ],
)
def test_it_waits_on_exactly_these(facts, on_me):
    found = {role for role in Role if (told := waits(role, facts)) and told.on_me}
    assert found == on_me


@pytest.mark.parametrize("state", [PassageState.CLOSED, PassageState.APPROVED, PassageState.PASSED])
@pytest.mark.parametrize("role", list(Role))
def test_what_is_closed_or_done_waits_on_nobody(state, role):
    assert waits(role, replace(PENDING, state=state, is_late=True, n_over=3)) is None


def test_production_is_not_told_of_drawing_it_has_no_part_in():
    assert waits(P, DRAWING) is None and waits(P, ANSWERING) is None


@pytest.mark.parametrize("role", [IL, AG, G])
def test_nobody_outside_the_publishers_side_reads_of_unsent_notes(role):
    told = [waits(role, replace(facts, n_unsent=n)) for facts in (DRAWING, ANSWERING, PENDING, PROOF) for n in (0, 5)]
    assert told[0::2] == told[1::2]


def test_an_agent_reads_both_faults_in_one_sentence():
    told = waits(AG, replace(ANSWERING, is_late=True, n_over=2))
    assert asks_words(told) == "2 rounds over the fee and the publisher’s answer is late"


@pytest.mark.parametrize(
    ("facts", "detail"),
    [
        (ANSWERING, "Nobody has marked it yet"),
        (replace(ANSWERING, is_marked=True), "Options are marked"),
        (replace(ANSWERING, is_marked=True, n_unsent=2), "2 notes to decide on and options are marked"),
        (replace(ANSWERING, n_unsent=1), "1 note to decide on"),
    ],
)
def test_the_art_director_reads_what_the_others_have_said_so_far(facts, detail):
    told = waits(AD, facts)
    assert told is not None and detail_words(told) == detail
