"""The short code of a ledger line: it leaves the machine on paper and by mail, and comes back to be checked.

A line's fingerprint covers the line before it, so its code vouches for everything up to it. Eighty bits of the
fingerprint in the RFC 4648 alphabet for base 32, which holds neither 0 nor 1: sixteen letters and digits in groups of
four can be read from paper and typed.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from dataclasses import dataclass

from reviews.rules.states import Deed

_CODED_BYTES = 10
_GROUP = 4

# "line 216, code ABCD-…", "216 ABCD EFGH …" and what mail programs make of them: few words, no other number between.
_PAIR = re.compile(
    r"(?<![\w.])(\d{1,9}(?:\.\d{1,9})?)\W{1,8}(?:code\W{1,4})?+((?:[A-Z2-7]{4}[-–\s]{0,2}){3}[A-Z2-7]{4})\b",
    re.IGNORECASE,
)
#: What a time stamp is asked for, where a service is configured: what somebody may have to prove with its date.
STAMPED = frozenset(
    {
        Deed.SEND_LETTER, Deed.HAND_IN, Deed.APPROVE_BY_SILENCE, Deed.CHANGE_TERMS, Deed.GIVE_CONSENT, Deed.END_SEAT,
        Deed.MOVE_DUE_DATE, Deed.AGREE, Deed.PROPOSE, Deed.TAKE_BACK_LETTER, Deed.INVOICE, Deed.CONFIRM_PAYMENT,
        Deed.AGREE_PAUSE, Deed.CONFIRM_TERMS, Deed.REPAGE,
    }
)  # fmt: skip
#: A letter's page and a mail hold one code; nobody has this many to check at once.
MOST_CODES = 200


@dataclass(frozen=True)
class Stand:
    """Where the ledger stood: the line's name and its code."""

    line: str
    code: str

    def __str__(self) -> str:
        return f"line {self.line}, code {self.code}"


def code_of(sha256: str) -> str:
    """Write the code of a fingerprint: ABCD-EFGH-IJKL-MNOP."""
    text = base64.b32encode(bytes.fromhex(sha256)[:_CODED_BYTES]).decode()
    return "-".join(text[at : at + _GROUP] for at in range(0, len(text), _GROUP))


def stands_in(text: str) -> Iterator[Stand]:
    """Find the lines and codes in what somebody pasted, in whatever case and however the groups are parted."""
    for n, found in enumerate(_PAIR.finditer(text)):
        if n == MOST_CODES:
            return
        plain = re.sub(r"[^A-Z2-7]", "", found[2].upper())
        yield Stand(found[1], "-".join(plain[at : at + _GROUP] for at in range(0, len(plain), _GROUP)))
