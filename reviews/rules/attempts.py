"""How many wrong tries are too many: of one person, from one place, from one address of the network."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from ipaddress import IPv6Address, ip_address

#: Wrong tries are counted for so long; after that signing in goes on.
REST = timedelta(minutes=15)
#: An address from which a person came in is theirs for so long.
USUAL_FOR = timedelta(days=60)
#: Wrong tries at one person's password from one place.
MOST_FROM_ONE_PLACE = 8
#: Wrong tries at one person's password from all places together that are not theirs.
MOST_BY_STRANGERS = 12
#: Wrong tries from one address, whoever they were for: typing errors of an office, or names tried one after another.
MOST_FROM_ONE_ADDRESS = 12


class Trying(StrEnum):
    """What is tried."""

    SIGN_IN = "sign-in"
    CODE = "code"
    PASSWORD = "password"


@dataclass(frozen=True)
class WrongTries:
    """Wrong tries of the last quarter of an hour, as one more is made."""

    from_here: int
    by_strangers: int
    from_address: int


def rests(tries: WrongTries, *, usual: bool, recognised: bool) -> bool:
    """Say whether trying rests.

    From a browser that is ``recognised``, or an address that is ``usual``, what strangers tried elsewhere does not
    count: nobody is locked out of where they come from by somebody else's guesses.
    """
    if tries.from_here >= MOST_FROM_ONE_PLACE:
        return True
    if recognised:
        return False
    if tries.from_address >= MOST_FROM_ONE_ADDRESS:
        return True
    return not usual and tries.by_strangers >= MOST_BY_STRANGERS


def counted_address(address: str) -> str:
    """Give the address that tries are counted by: in IPv6 a household has 2^64, so its network counts."""
    try:
        parsed = ip_address(address)
    except ValueError:
        return ""
    if isinstance(parsed, IPv6Address):
        if parsed.ipv4_mapped:
            return str(parsed.ipv4_mapped)
        return str(IPv6Address(int(parsed) >> 64 << 64))
    return str(parsed)
