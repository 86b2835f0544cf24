"""How an approval came about: by a letter, or by silence under the terms."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import BooleanField, Exists, IntegerField, OuterRef, Value
from django.db.models.expressions import Case, When
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Cast

from reviews.models import LedgerEntry, Passage
from reviews.models.passages import PassageQuerySet
from reviews.rules.states import Deed, PassageState


def passages_approved_by_silence(spreads: Collection[int]) -> list[Passage]:
    """Find the passages of some spreads whose standing approval came by silence (1 query)."""
    rows = told_silent(Passage.objects.with_places().filter(spread__in=spreads, state=PassageState.APPROVED))
    return [row for row in rows if row.is_silent]


def told_silent(passages: PassageQuerySet) -> PassageQuerySet:
    """Mark the passages whose standing approval came by silence, as the ledger tells (no query of its own).

    A passage that was opened again and approved by a letter has another hand-in, and is not marked.
    """
    entries = (
        LedgerEntry.objects.annotate(told_of=Cast(KeyTextTransform("hand_in", "data"), IntegerField()))
        .filter(passage=OuterRef("pk"), deed=Deed.APPROVE_BY_SILENCE, told_of=OuterRef("hand_in"))
        .order_by()
    )
    # Asked of approved passages only: on a map of a hundred passages the ledger is not searched for the others.
    by_silence = Case(
        When(state=PassageState.APPROVED, then=Exists(entries)), default=Value(False), output_field=BooleanField()
    )
    return passages.annotate(is_silent=by_silence)  # type: ignore[no-redef]  # it fills what the model leaves False
