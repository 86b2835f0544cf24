"""The people of the demo, all invented, and the stage plans their contract agreed."""

from __future__ import annotations

from reviews.rules.plans import PlannedStage
from reviews.rules.states import Gate, Role, StageKind

TITLE = "Tansy and the Moon in the Pail"
PUBLISHER = "Thimblereed Books"

PEOPLE = {
    Role.ART_DIRECTOR: ("Corvin Mallowe", "corvin@thimblereed.example"),
    Role.ILLUSTRATOR: ("Juniper Aldersea", "juniper@aldersea.example"),
    Role.EDITOR: ("Petra Innisfold", "petra@thimblereed.example"),
    Role.AGENT: ("Desmond Rookley", "desmond@rookley.example"),
    Role.PRODUCTION: ("Tamsin Garrick", "tamsin@thimblereed.example"),
}
GUEST = ("Wilf Sandor", "wilf@thimblereed.example")

INSIDE = (
    PlannedStage(StageKind.IDEAS, Gate.ANSWERS, 15, 5, 1),
    PlannedStage(StageKind.SKETCH, Gate.ANSWERS, 20, 10, 2, two_voices=True),
    PlannedStage(StageKind.LINE, Gate.ANSWERS, 8, 5, 1, group="line and ink"),
    PlannedStage(StageKind.INK, Gate.SHOWN, 5, 0, 1, group="line and ink"),
    PlannedStage(StageKind.COLOUR, Gate.ANSWERS, 25, 8, 1),
    PlannedStage(StageKind.PROOF, Gate.ANSWERS, 10, 10, 1),
)
COVER = (
    PlannedStage(StageKind.IDEAS, Gate.ANSWERS, 15, 8, 1),
    PlannedStage(StageKind.SKETCH, Gate.ANSWERS, 20, 10, 2, two_voices=True),
    PlannedStage(StageKind.LINE, Gate.SHOWN, 10, 0, 0),
    PlannedStage(StageKind.COLOUR, Gate.ANSWERS, 15, 10, 1),
    PlannedStage(StageKind.FINISH, Gate.ANSWERS, 12, 8, 1),
    PlannedStage(StageKind.PROOF, Gate.ANSWERS, 10, 10, 1),
)
