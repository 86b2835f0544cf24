"""The people of the demo, all invented, and the stage plans their contract agreed."""

from __future__ import annotations

from reviews.rules.contract.plans import PlannedStage
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

#: What the two sides signed, in the form of ``rules.terms_text``; every figure is invented.
TERMS = {
    "version": 1,
    "from_on": "2000-01-01",
    "places": ["GB-ENG"],
    "shut": [],
    "zone": "Europe/London",
    "cut_off": "18:00",
    "late_receipt": "next-working-day",
    "counts_receipt": False,
    "brief_counts": True,
    "publisher_late_moves": True,
    "silence_approves_after": None,
    "when_over": "tell",
    "fee": {"amount": "9600.00", "currency": "GBP"},
    "round_fee": {"amount": "140.00", "currency": "GBP"},
    "hour_fee": None,
    "instalments": [
        {"name": "On signature", "falls": "start", "stage": "", "on": None, "share": "25", "amount": None,
         "pay_within_days": 30},
        {"name": "On delivery of all ideas", "falls": "hand-in", "stage": "ideas", "on": None, "share": "25",
         "amount": None, "pay_within_days": 30},
        {"name": "On acceptance of all sketches", "falls": "approval", "stage": "sketch", "on": None, "share": "25",
         "amount": None, "pay_within_days": 30},
        {"name": "On acceptance of all colour", "falls": "approval", "stage": "colour", "on": None, "share": "25",
         "amount": None, "pay_within_days": 30},
    ],
    "cancellation": [
        {"reached": "start", "share": "25", "stage": ""},
        {"reached": "approval", "share": "50", "stage": "sketch"},
        {"reached": "hand-in", "share": "100", "stage": "colour"},
    ],
}  # fmt: skip
REMARK = "Art budget line 7, autumn list. Anything beyond two extra rounds goes to the publishing meeting first."
#: Agreed after the third letter about the hill: what goes beyond the fee needs the agent's consent, and costs more.
AMENDMENT = {"when_over": "agent-consent", "round_fee": {"amount": "180.00", "currency": "GBP"}}

#: Working days from today to the contract date, on which the files are due at the printer. The plan counts back from
#: it: the first half was drawn long before its dates, the second half about on them.
FILES_DUE = 120

INSIDE = (
    PlannedStage(StageKind.IDEAS, Gate.ANSWERS, 45, 5, 1),
    PlannedStage(StageKind.SKETCH, Gate.ANSWERS, 20, 10, 2, two_voices=True),
    PlannedStage(StageKind.LINE, Gate.ANSWERS, 8, 5, 1, group="line and ink"),
    PlannedStage(StageKind.INK, Gate.SHOWN, 5, 0, 1, group="line and ink"),
    PlannedStage(StageKind.COLOUR, Gate.ANSWERS, 35, 8, 1),
    PlannedStage(StageKind.PROOF, Gate.ANSWERS, 8, 8, 1),
)
COVER = (
    PlannedStage(StageKind.IDEAS, Gate.ANSWERS, 45, 8, 1),
    PlannedStage(StageKind.SKETCH, Gate.ANSWERS, 20, 10, 2, two_voices=True),
    PlannedStage(StageKind.LINE, Gate.SHOWN, 10, 0, 0),
    PlannedStage(StageKind.COLOUR, Gate.ANSWERS, 15, 10, 1),
    PlannedStage(StageKind.FINISH, Gate.ANSWERS, 12, 8, 1),
    PlannedStage(StageKind.PROOF, Gate.ANSWERS, 8, 8, 1),
)
