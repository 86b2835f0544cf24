"""Time stamps of a book's ledger, checked against the roots that this portal is told to trust."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.x509 import Certificate, load_pem_x509_certificates
from django.conf import settings
from rfc3161_client import TimeStampResponse, VerificationError, VerifierBuilder, decode_timestamp_response

from reviews.models import Book, LedgerEntry, TimeStamp
from reviews.rules.codes import STAMPED
from reviews.rules.faults import LedgerFault


@dataclass
class StampCheck:
    """``n_waiting``: entries to be stamped that are not yet; ``n_untold``: stamps that no known root vouches for."""

    n_checked: int = 0
    n_waiting: int = 0
    n_untold: int = 0
    faults: list[LedgerFault] = field(default_factory=list)


def is_stamping() -> bool:
    """Say whether a service is configured."""
    return bool(settings.TIMESTAMP_URL)


def trusted_roots() -> list[Certificate]:
    """Read the certificates that vouch for the service."""
    return load_pem_x509_certificates(Path(settings.TIMESTAMP_ROOTS).read_bytes())


def verified(answer: bytes, sha256: str, roots: Iterable[Certificate]) -> TimeStampResponse:
    """Read a service's answer about a fingerprint.

    Raises
    ------
    ValueError
        where it is no time stamp, or not one of this fingerprint by a service that the roots vouch for.
    """
    builder = VerifierBuilder()
    for root in roots:
        builder = builder.add_root_certificate(root)
    try:
        response = decode_timestamp_response(answer)
        builder.build().verify_message(response, sha256.encode())
    except VerificationError as problem:
        raise ValueError(str(problem)) from problem
    return response


def check_stamps(book: Book) -> StampCheck:
    """Check every time stamp of a book (2 queries)."""
    check = StampCheck()
    stamps = TimeStamp.objects.select_related("entry").filter(entry__book=book).order_by("entry__seq")
    if not settings.TIMESTAMP_ROOTS:
        check.n_untold = stamps.count()
        return check
    roots = trusted_roots()
    for stamp in stamps:
        check.n_checked += 1
        try:
            response = verified(bytes(stamp.answer), stamp.entry.sha256, roots)
        except ValueError as problem:
            check.faults.append(LedgerFault("stamp-does-not-hold", seq=stamp.entry.seq, problem=str(problem)))
            continue
        if response.tst_info.gen_time != stamp.at:
            check.faults.append(LedgerFault("stamp-other-time", seq=stamp.entry.seq))
    if is_stamping():
        check.n_waiting = LedgerEntry.objects.filter(book=book, deed__in=STAMPED, time_stamp=None).count()
    return check
