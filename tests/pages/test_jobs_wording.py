"""Why work was not done, from what a job keeps of it."""

import pytest

from reviews.pages.trouble import shown_trouble
from reviews.pages.wording.jobs import away_sentence, error_sentence
from reviews.queries.outages import Away
from reviews.queries.trouble import Trouble

UNKNOWN = "has no words for"


@pytest.mark.parametrize("away", Away)
def test_whatever_can_be_away_is_named_while_it_is_tried_and_once_given_up(away):
    named = away_sentence(away)
    tried = error_sentence({"code": "is-away", "what": away.value})
    assert tried == f"{named} This did not work yet and will be tried again."
    given_up = error_sentence({"code": "stayed-away", "what": away.value})
    assert given_up.startswith(f"{named} It was tried for three days and then given up")


def test_the_mail_servers_own_words_are_kept_with_their_braces():
    words = "550 {no} such user"
    assert f"“{words}”" in error_sentence({"code": "mail-refused", "words": words})


def test_what_a_newer_version_calls_away_is_no_error():
    assert UNKNOWN in error_sentence({"code": "is-away", "what": "the moon"})
    assert UNKNOWN in error_sentence({"code": "never-heard-of"})


def test_nothing_wrong_has_no_words():
    assert error_sentence({}) == ""
    assert shown_trouble(None) is None


def test_a_trouble_is_shown_with_its_code_and_its_words():
    shown = shown_trouble(Trouble({"code": "gave-up", "n": 5}, True))
    assert shown is not None
    assert (shown["error"]["code"], shown["is_given_up"]) == ("gave-up", True)
    assert "failed 5 times" in shown["sentence"]
