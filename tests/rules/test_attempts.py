"""When trying rests, and for whom."""

import pytest

from reviews.rules.attempts import (
    MOST_BY_STRANGERS,
    MOST_FROM_ONE_ADDRESS,
    MOST_FROM_ONE_PLACE,
    WrongTries,
    counted_address,
    rests,
)

MANY = 1000


@pytest.mark.parametrize(
    ("tries", "usual", "recognised", "rest"),
    [
        (WrongTries(0, 0, 0), False, False, False),
        (WrongTries(MOST_FROM_ONE_PLACE - 1, 0, 0), False, False, False),
        (WrongTries(MOST_FROM_ONE_PLACE, 0, 0), False, False, True),
        (WrongTries(MOST_FROM_ONE_PLACE, 0, 0), True, True, True),
        (WrongTries(0, MOST_BY_STRANGERS, 0), False, False, True),
        (WrongTries(0, MANY, 0), True, False, False),
        (WrongTries(0, MANY, MANY), False, True, False),
        (WrongTries(0, 0, MOST_FROM_ONE_ADDRESS), False, False, True),
        (WrongTries(0, 0, MOST_FROM_ONE_ADDRESS), True, False, True),
    ],
)
def test_trying_rests(tries, usual, recognised, rest):
    assert rests(tries, usual=usual, recognised=recognised) is rest


@pytest.mark.parametrize(
    ("address", "counted"),
    [
        ("192.0.2.7", "192.0.2.7"), ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::"), ("::ffff:192.0.2.7", "192.0.2.7"),
        ("", ""), ("no address", ""),
    ],
)  # fmt: skip
def test_an_address_is_counted_by_what_one_household_has(address, counted):
    assert counted_address(address) == counted
