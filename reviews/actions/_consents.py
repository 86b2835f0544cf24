"""The agent's consents that a letter uses up; shared by the letter that spends them and the terms that ask for them."""

from __future__ import annotations

from reviews.models import Letter, OverConsent
from reviews.queries.letter_cost import PlannedLetter


def use_consents(planned: PlannedLetter, letter: Letter) -> list[OverConsent]:
    """Let the letter use up the consents for what goes beyond the fee, so that none is used twice; gives them."""
    if planned.needs_consent:
        passages = [ask.passage for ask in planned.cost.over]
        given = OverConsent.objects.open().filter(passage__in=passages, given_at__isnull=False)
        used = list(given)
        given.update(used_by=letter)
        return used
    return []
