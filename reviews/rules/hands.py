"""Whose hands a stage is in: the illustrator draws, the printer proofs and prints.

A proof, and the folded and gathered sheets after it, come from the printer by way of production. While the printer has
one, it is in neither side's hands, so its days are nobody's of the two; what a letter asks of it goes back there.
"""

from __future__ import annotations

from reviews.rules.states import PassageState, Refused, Role, StageKind

#: What the printer makes: a proof, and F&Gs, the printed sheets folded and gathered but not yet bound.
PRINTERS_STAGES = frozenset({StageKind.PROOF, StageKind.GATHERED})
#: Who hands in what the printer made: production, or the art director where nobody sits there.
PRINTERS_HANDS = frozenset({Role.PRODUCTION, Role.ART_DIRECTOR})


def hands_in(role: Role, stage: StageKind) -> bool:
    """Say whether a seat of this role hands in at a stage."""
    return role in PRINTERS_HANDS if stage in PRINTERS_STAGES else role == Role.ILLUSTRATOR


def check_hands_in(role: Role, stage: StageKind) -> None:
    """Refuse a hand-in by whoever does not make what this stage is made of."""
    if not hands_in(role, stage):
        raise Refused("proof-is-productions" if stage in PRINTERS_STAGES else "art-is-the-illustrators")


def is_with_printer(stage: StageKind, state: PassageState) -> bool:
    """Say whether a passage waits for the printer."""
    return stage in PRINTERS_STAGES and state == PassageState.DRAWING


def uses_rounds(stage: str, n_used: int) -> bool:
    """Say whether rounds are worth telling at a stage: those of the printer's, where older letters used some."""
    return stage not in PRINTERS_STAGES or n_used > 0


def check_answers(role: Role, *, made_by: Role) -> None:
    """Refuse an answer to a note by whoever did not hand in what it is on."""
    if (made_by == Role.ILLUSTRATOR) != (role == Role.ILLUSTRATOR):
        raise Refused("note-is-productions" if role == Role.ILLUSTRATOR else "note-is-the-illustrators")
