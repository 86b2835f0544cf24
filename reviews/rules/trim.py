"""Who may move the trim of a book: the art is composed for it."""

from __future__ import annotations

from reviews.rules.states import Role


def may_move_trim(role: Role) -> bool:
    """Say whether a seat that sets facts of the book or of its printing may move its trim."""
    return role == Role.ART_DIRECTOR
