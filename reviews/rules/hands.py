"""Whose hands a stage is in: the illustrator draws, and at proof the printer prints.

A proof, and the folded sheets after it, come from the printer by way of production. While the printer has it, it is in
neither side's hands, so its days are nobody's of the two; what a letter asks of a proof goes back to the printer.
"""

from __future__ import annotations

from reviews.rules.states import PassageState, Refused, Role, StageKind

PRINTERS_STAGES = frozenset({StageKind.PROOF})
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


def check_answers(role: Role, *, made_by: Role) -> None:
    """Refuse an answer to a note by whoever did not hand in what it is on."""
    if (made_by == Role.ILLUSTRATOR) != (role == Role.ILLUSTRATOR):
        raise Refused("note-is-productions" if role == Role.ILLUSTRATOR else "note-is-the-illustrators")
