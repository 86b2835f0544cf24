"""Who runs the portal. Personal, so no book's ledger tells of it."""

from __future__ import annotations

from reviews.models import Person


def name_operator(email: str, *, runs_portal: bool) -> bool:
    """Let somebody with an account see how the portal runs, or no more; say whether there is such an account."""
    return bool(Person.objects.filter(email=email.strip().lower(), is_active=True).update(runs_portal=runs_portal))
