"""What a hand-in, an answer and a second voice may do to a passage: the refusals beside the grants."""

from dataclasses import replace

import pytest

from reviews.rules import decisions
from reviews.rules.decisions import Outcome, Standing
from reviews.rules.states import Answer, Cause, Gate, PassageState, Refused

DRAWING = Standing(
    state=PassageState.DRAWING, gate=Gate.ANSWERS, two_voices=False, hand_in=None, pending=None, next_is_closed=True
)
ANSWERING = replace(DRAWING, state=PassageState.ANSWERING, hand_in=1)
APPROVED = replace(ANSWERING, state=PassageState.APPROVED, next_is_closed=False)
TWO_VOICES = replace(ANSWERING, two_voices=True)


def handing_in(standing, *, n_ready=1, n_unread=0, n_refused=0):
    return decisions.hand_in(standing, n_ready=n_ready, n_unread=n_unread, n_refused=n_refused)


def checking(standing, answer, *causes, hand_in=1, has_picture=True):
    decisions.check_answer(standing, answer, hand_in=hand_in, has_picture=has_picture, causes=causes)


def test_handing_in_gives_the_passage_to_the_publisher():
    assert handing_in(DRAWING) == Outcome(PassageState.ANSWERING)


@pytest.mark.parametrize("gate", [Gate.SHOWN, Gate.HIDDEN])
def test_a_stage_nobody_answers_is_passed_at_once_and_opens_the_next(gate):
    assert handing_in(replace(DRAWING, gate=gate)) == Outcome(PassageState.PASSED, opens_next=True)


@pytest.mark.parametrize(
    ("standing", "files", "code"),
    [
        (replace(DRAWING, state=PassageState.CLOSED), {}, "not-open"),
        (ANSWERING, {}, "publisher-is-answering"),
        (APPROVED, {}, "already-approved"),
        (DRAWING, {"n_ready": 0}, "no-pictures"),
        (DRAWING, {"n_unread": 1}, "unread-pictures"),
        (DRAWING, {"n_refused": 1, "n_unread": 1}, "refused-pictures"),
    ],
)
def test_handing_in_is_refused(standing, files, code):
    with pytest.raises(Refused) as refused:
        handing_in(standing, **files)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("standing", "answer", "causes", "more", "code"),
    [
        (DRAWING, Answer.APPROVE, (), {}, "nothing-handed-in"),
        (ANSWERING, Answer.APPROVE, (), {"hand_in": 2}, "handed-in-since"),
        (replace(DRAWING, hand_in=1), Answer.APPROVE, (), {}, "not-waiting-for-answer"),
        (APPROVED, Answer.APPROVE, (), {}, "not-waiting-for-answer"),
        (ANSWERING, Answer.ASK, (), {}, "ask-without-notes"),
        (ANSWERING, Answer.APPROVE, (), {"has_picture": False}, "choose-the-picture"),
        (APPROVED, Answer.ASK, (Cause.BRIEF,), {}, "brief-after-approval"),
        (APPROVED, Answer.ASK, (Cause.TEXT, Cause.BRIEF), {}, "brief-after-approval"),
        (APPROVED, Answer.ASK, (Cause.QUESTION,), {}, "reopen-needs-cause"),
        (APPROVED, Answer.ASK, (), {}, "reopen-needs-cause"),
    ],
)
def test_an_answer_is_refused(standing, answer, causes, more, code):
    with pytest.raises(Refused) as refused:
        checking(standing, answer, *causes, **more)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("standing", "answer", "causes"),
    [
        (ANSWERING, Answer.APPROVE, ()),
        (ANSWERING, Answer.APPROVE_SMALL, (Cause.BRIEF,)),
        (ANSWERING, Answer.ASK, (Cause.QUESTION,)),
        (APPROVED, Answer.ASK, (Cause.TEXT,)),
        (APPROVED, Answer.ASK, (Cause.DIRECTION, Cause.QUESTION)),
    ],
)
def test_an_answer_is_taken(standing, answer, causes):
    checking(standing, answer, *causes)


def test_an_approval_freezes_the_picture_and_opens_the_next_stage():
    outcome = decisions.answer(ANSWERING, Answer.APPROVE, second_voice_agreed=False)
    assert outcome == Outcome(PassageState.APPROVED, opens_next=True, freezes=True)


def test_an_approval_waits_for_the_second_voice_unless_it_was_there_first():
    waits = decisions.answer(TWO_VOICES, Answer.APPROVE_SMALL, second_voice_agreed=False)
    assert waits == Outcome(PassageState.ANSWERING, pending=True)
    assert decisions.answer(TWO_VOICES, Answer.APPROVE, second_voice_agreed=True).freezes


def test_asking_for_changes_needs_one_voice_and_says_when_it_reopens():
    assert decisions.answer(TWO_VOICES, Answer.ASK, second_voice_agreed=False) == Outcome(PassageState.DRAWING)
    assert decisions.answer(APPROVED, Answer.ASK, second_voice_agreed=False).reopened


def test_the_second_voice_completes_a_waiting_approval():
    pending = replace(TWO_VOICES, pending=1)
    assert decisions.agree(pending, 1) == Outcome(PassageState.APPROVED, opens_next=True, freezes=True)
    assert decisions.agree(TWO_VOICES, 1) == Outcome(PassageState.ANSWERING)
    assert decisions.object_to(pending, 1) == Outcome(PassageState.ANSWERING)


@pytest.mark.parametrize("deed", [decisions.agree, decisions.object_to])
@pytest.mark.parametrize(
    ("standing", "number", "code"),
    [
        (ANSWERING, 1, "one-voice-is-enough"),
        (TWO_VOICES, 2, "already-answered"),
        (replace(TWO_VOICES, state=PassageState.APPROVED), 1, "already-answered"),
    ],
)
def test_a_second_voice_is_refused(deed, standing, number, code):
    with pytest.raises(Refused) as refused:
        deed(standing, number)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("standing", "number", "code"),
    [
        (replace(ANSWERING, state=PassageState.PASSED), 1, "passed-on"),
        (replace(ANSWERING, state=PassageState.DRAWING), 1, "already-answered"),
        (replace(ANSWERING, hand_in=2), 1, "already-answered"),
        (replace(TWO_VOICES, pending=1), 1, "approval-pending"),
    ],
)
def test_a_hand_in_that_was_answered_is_not_withdrawn(standing, number, code):
    with pytest.raises(Refused) as refused:
        decisions.withdraw_hand_in(standing, number)
    assert refused.value.code == code


def test_a_mistaken_hand_in_is_withdrawn_before_it_is_answered():
    assert decisions.withdraw_hand_in(ANSWERING, 1) == Outcome(PassageState.DRAWING)


def test_silence_approves_one_picture_that_nobody_has_answered():
    assert decisions.approve_by_silence(replace(ANSWERING, next_is_closed=True), n_pictures=1) == Outcome(
        PassageState.APPROVED, opens_next=True, freezes=True
    )


@pytest.mark.parametrize(
    ("standing", "n_pictures", "code"),
    [
        (replace(ANSWERING, state=PassageState.DRAWING), 1, "not-silent"),
        (replace(ANSWERING, state=PassageState.APPROVED), 1, "not-silent"),
        (replace(TWO_VOICES, pending=1), 1, "not-silent"),
        (ANSWERING, 3, "silence-cannot-choose"),
        (ANSWERING, 0, "silence-cannot-choose"),
    ],
)
def test_silence_approves_nothing_else(standing, n_pictures, code):
    with pytest.raises(Refused) as refused:
        decisions.approve_by_silence(standing, n_pictures=n_pictures)
    assert refused.value.code == code
