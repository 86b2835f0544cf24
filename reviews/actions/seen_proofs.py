"""Have a photographed proof held against the final art, and keep what was seen."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from reviews import jobs
from reviews.actions.clock import moment
from reviews.models import Picture, Seat, SeenProof
from reviews.queries.access import may_see_picture
from reviews.queries.seen_proofs import named, seen_asked
from reviews.rules.states import Refused


def ask_for_seen_proof(picture: Picture, *, actor: Seat) -> SeenProof:
    """Have a picture of a proof held against its art, once. No deed of anyone's: it says nothing about the book.

    Raises Refused for a picture that is no proof that is read, and where no art stands approved behind it.
    """
    asked = seen_asked(picture) if may_see_picture(picture, actor) else None
    if asked is None:
        raise Refused("no-seen-proof")
    with transaction.atomic():
        row, _ = SeenProof.objects.get_or_create(**named(asked))
        if row.result is None:
            # The art and the width are the row's; which file the sheet belongs to is the photograph's content.
            jobs.enqueue(jobs.SEEN_PROOF, row.pk)
    return row


def keep_seen_proof(row_id: int, result: dict[str, Any]) -> None:
    """Keep what was seen. No deed of anyone's: the same files always give the same."""
    SeenProof.objects.filter(pk=row_id, result__isnull=True).update(result=result, made_at=moment())
