"""What notices and forecasts stored as English is read back into codes, and these say the same again."""

from datetime import date
from importlib import import_module
from pkgutil import iter_modules

import pytest

from reviews import migrations
from reviews.pages.wording.due_dates import told_words
from reviews.pages.wording.outlook import points, sources_words
from reviews.rules.forecast.outlook_text import told_from_text

[NAME] = [found.name for found in iter_modules(migrations.__path__) if found.name.endswith("_codes_for_words")]
codes_for_words = import_module(f"reviews.migrations.{NAME}")


@pytest.mark.parametrize(
    ("kind", "cause", "words"),
    [
        (
            "due",
            "due:7/publisher/2026-11-23/late",
            "Cover, ink: the answer was due on Monday 23 November and is 4 working days late.",
        ),
        (
            "due",
            "due:7/illustrator/2026-11-24/late",
            "Cover, ink: the hand-in was due on Tuesday 24 November and is 1 working day late.",
        ),
        (
            "due",
            "due:7/illustrator/2026-11-28/late",
            "Cover, ink: the hand-in was due on Saturday 28 November.",
        ),
        (
            "due",
            "due:7/publisher/2026-12-01/ahead",
            "Ends, foil: the answer is due on Tuesday 1 December, in 2 working days.",
        ),
        (
            "due",
            "due:7/illustrator/2026-12-01/today",
            "Ends, foil: the hand-in is due today.",
        ),
        (
            "cannot-meet",
            "cannot-meet:3:2027-03-01",
            "Pages 4–5 cannot be done by 1 March 2027 any more: with every day kept from now on it would be done on "
            "9 April 2027. It waits for the illustrator.",
        ),
    ],
)
def test_a_notice_says_in_codes_what_it_said_in_words(kind, cause, words):
    told = codes_for_words.told_of(kind, cause, words)
    assert told["code"] == kind
    before, now = "any more: with every day kept from now on it", "any more, even if everyone keeps to their dates: it"
    assert told_words(told) == words.replace(before, now)


def test_a_notice_that_cannot_be_read_back_keeps_what_was_written():
    told = codes_for_words.told_of("due", "due:7/publisher/2026-11-23/late", "Something else was written here.")
    assert told["code"] == "as-written"
    assert told_words(told) == "Something else was written here."


OUTLOOK = {
    "today": "2026-11-25", "p50_on": "2027-05-03", "p80_on": "2027-05-20", "target_on": "2027-05-28", "chance": 0.68,
    "spreads": [], "illustrator_over": 47.2, "publisher_over": 1.4, "n_futures": 10000, "seed": 1, "is_cut_off": False,
    "words": "First versions: 9 past cases of this book. Redone versions: estimates, for want of past cases. Answers: "
    "4 past cases of this book. Rounds: 2 past cases of this book.",
}  # fmt: skip
SAME = {"p50_on": "2027-05-03", "p80_on": "2027-05-20", "p50_days": 0, "p80_days": 0, "chance": 0.68}
WAITING = "5 spreads wait for their answers, but there is enough else to draw meanwhile."
IN_TIME = "The drawing keeps to its days already."


def test_a_forecast_says_in_codes_what_it_said_in_words():
    text = {
        "outlook": OUTLOOK,
        "what_ifs": [
            {**SAME, "words": "If the letter goes today", "note": WAITING},
            {**SAME, "words": "If the illustrator keeps to the terms", "note": IN_TIME},
        ],
    }
    told = told_from_text(codes_for_words.forecast_in_codes(text))
    assert told.outlook.today == date(2026, 11, 25)
    # What was said then, and what is said since wherever a kind of case is wanting.
    whose = " Where there are no past cases, the estimate is this portal’s own, and neither side’s."
    assert sources_words(told.outlook) == OUTLOOK["words"] + whose
    asked = points(told.outlook, told.what_ifs, "the contract date")[2:]
    assert [(point.question, point.why) for point in asked] == [
        ("If the letter goes today", WAITING),
        ("If the illustrator keeps to the terms", IN_TIME),
    ]


def test_a_forecast_that_cannot_be_read_back_is_let_go():
    assert codes_for_words.forecast_in_codes({"outlook": {**OUTLOOK, "words": "x"}, "what_ifs": []}) is None
