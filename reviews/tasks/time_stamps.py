"""Ask a service outside to stamp a line of the ledger with its time (RFC 3161)."""

from __future__ import annotations

from typing import NoReturn
from urllib.request import HTTPRedirectHandler, Request, build_opener

from django.conf import settings
from rfc3161_client import HashAlgorithm, TimestampRequestBuilder

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.time_stamps import keep_time_stamp
from reviews.models import LedgerEntry
from reviews.queries.time_stamps import is_stamping, trusted_roots, verified
from reviews.tasks.registry import CannotBeDone, does

SECONDS = 20
#: A stamp with its certificates is some 5 kB.
MOST_BYTES = 100_000


class _StaysThere(HTTPRedirectHandler):
    """Follows nobody elsewhere: the service is the one that was named, and an answer may not choose what we ask."""

    def redirect_request(self, request: Request, *_: object) -> NoReturn:
        raise CannotBeDone("stamp-service-elsewhere")


@does(jobs.TIME_STAMP)
def stamp_entry(claim: Claim) -> None:
    """Ask for one stamp and keep it if it holds; only the fingerprint leaves the machine, no word of the book.

    A service that is away is asked again, as every job is. An answer that does not verify is not kept.
    """
    if not is_stamping():
        raise CannotBeDone("no-stamp-service")
    sha256 = LedgerEntry.objects.values_list("sha256", flat=True).get(pk=claim.subject_id)
    asked = TimestampRequestBuilder().data(sha256.encode()).hash_algorithm(HashAlgorithm.SHA256).build()
    request = Request(
        settings.TIMESTAMP_URL, data=asked.as_bytes(), headers={"Content-Type": "application/timestamp-query"}
    )
    with build_opener(_StaysThere).open(request, timeout=SECONDS) as response:
        answer = response.read(MOST_BYTES)
    stamp = verified(answer, sha256, trusted_roots())
    if stamp.tst_info.nonce != asked.nonce:
        raise ValueError("The time stamp service answered another question.")
    keep_time_stamp(claim, answer=answer, at=stamp.tst_info.gen_time, service=settings.TIMESTAMP_URL)
