import pytest

from reviews.pages.wording.names import MAIL_WORDS
from reviews.rules.mailing import MailChoice, calendar_sides, is_reminded
from reviews.rules.reminders import Urgency
from reviews.rules.states import Role, Side

ILLUSTRATOR, PUBLISHER = Side.ILLUSTRATOR, Side.PUBLISHER


def reminded(side, urgency, *, is_hidden=False):
    return {role for role in Role if is_reminded(role, side, urgency, is_hidden=is_hidden)}


@pytest.mark.parametrize("urgency", [Urgency.AHEAD, Urgency.TODAY])
def test_until_it_is_late_only_those_who_have_to_do_something_hear_of_it(urgency):
    assert reminded(ILLUSTRATOR, urgency) == {Role.ILLUSTRATOR}
    assert reminded(PUBLISHER, urgency) == {Role.ART_DIRECTOR, Role.EDITOR}


def test_once_it_is_late_those_who_wait_and_the_agent_hear_of_it_too():
    assert reminded(ILLUSTRATOR, Urgency.LATE) == {Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}
    assert reminded(PUBLISHER, Urgency.LATE) == {Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT}


@pytest.mark.parametrize("urgency", list(Urgency))
def test_a_stage_the_publisher_does_not_see_concerns_the_illustrator_alone(urgency):
    assert reminded(ILLUSTRATOR, urgency, is_hidden=True) == {Role.ILLUSTRATOR}


def test_a_calendar_holds_what_its_role_owes_and_the_agent_watches_both():
    assert calendar_sides(Role.ILLUSTRATOR) == {ILLUSTRATOR}
    assert calendar_sides(Role.AGENT) == {ILLUSTRATOR, PUBLISHER}
    assert calendar_sides(Role.ART_DIRECTOR) == calendar_sides(Role.EDITOR) == {PUBLISHER}
    assert calendar_sides(Role.GUEST) == set()


def test_every_choice_has_its_words():
    assert set(MAIL_WORDS) == set(MailChoice)
