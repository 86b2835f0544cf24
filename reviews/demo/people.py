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
#: Who sits down later and advises; their notes are the publisher's own until a letter takes them up.
ADVISERS = {
    Role.AUTHOR: ("Ottoline Grebe", "ottoline@grebe.example"),
    Role.DESIGNER: ("Basil Thornwick", "basil@thimblereed.example"),
    Role.SALES: ("Marnie Coldwater", "marnie@thimblereed.example"),
    Role.READER: ("Edda Fenwright", "edda@fenwright.example"),
}
#: Looks after the machine, and has no seat on any book.
OPERATOR = ("Hollis Marren", "hollis@thimblereed.example")
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
        {"name": "On signature", "falls": "signature", "stage": "", "on": None, "share": "25", "amount": None,
         "pay_within_days": 30},
        {"name": "On delivery of half the ideas", "falls": "hand-in", "stage": "ideas", "on": None, "share": "25",
         "amount": None, "pay_within_days": 30, "of_spreads": 50},
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
#: Entered by the publisher and not yet agreed to: a dearer extra round, for the agent to read.
AMENDMENT_PROPOSED = AMENDMENT | {"round_fee": {"amount": "210.00", "currency": "GBP"}}

#: Working days before today on which the contract was signed: before the book was set up.
SIGNED = 112

#: Working days from today to the contract date, on which the files are due at the printer. The plan counts back from
#: it: the first half was drawn long before its dates, the second half about on them.
FILES_DUE = 120

INSIDE = (
    PlannedStage(kind=StageKind.IDEAS, gate=Gate.ANSWERS, hand_in_days=45, answer_days=5, rounds=1),
    PlannedStage(kind=StageKind.SKETCH, gate=Gate.ANSWERS, hand_in_days=20, answer_days=10, rounds=2, two_voices=True),
    PlannedStage(kind=StageKind.LINE, gate=Gate.ANSWERS, hand_in_days=8, answer_days=5, rounds=1, group="line and ink"),
    PlannedStage(kind=StageKind.INK, gate=Gate.SHOWN, hand_in_days=5, answer_days=0, rounds=1, group="line and ink"),
    PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=35, answer_days=8, rounds=1),
    PlannedStage(kind=StageKind.PROOF, gate=Gate.ANSWERS, hand_in_days=8, answer_days=8, rounds=1),
)
COVER = (
    PlannedStage(kind=StageKind.IDEAS, gate=Gate.ANSWERS, hand_in_days=45, answer_days=8, rounds=1),
    PlannedStage(kind=StageKind.SKETCH, gate=Gate.ANSWERS, hand_in_days=20, answer_days=10, rounds=2, two_voices=True),
    PlannedStage(kind=StageKind.LINE, gate=Gate.SHOWN, hand_in_days=10, answer_days=0, rounds=0),
    PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=15, answer_days=10, rounds=1),
    PlannedStage(kind=StageKind.FINISH, gate=Gate.ANSWERS, hand_in_days=12, answer_days=8, rounds=1),
    PlannedStage(kind=StageKind.PROOF, gate=Gate.ANSWERS, hand_in_days=8, answer_days=8, rounds=1),
)
