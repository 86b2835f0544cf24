import json
import subprocess
import sys
from dataclasses import replace
from datetime import date

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.outlook_text import Question, Told, told_from_text, told_to_text
from reviews.rules.forecast.pace import ANSWER_GUESS, FIRST_GUESS, REDO_GUESS, Pace, Pool, SpreadLeft, Task, sliced
from reviews.rules.forecast.simulation import forecast, what_if_answered_today
from reviews.rules.states import Side

PIECES = (
    SpreadLeft(
        spread=1,
        label="Opening 1",
        tasks=(Task("sketch", 2.0, 3), Task("colour", 2.0, 3)),
        holder=Side.PUBLISHER,
        spent_days=1,
    ),
    SpreadLeft(spread=2, label="Opening 2", tasks=(Task("colour", 2.0, 3),), holder=Side.ILLUSTRATOR),
)
PACE = Pace(sliced(FIRST_GUESS), sliced(REDO_GUESS), sliced(ANSWER_GUESS), Pool((0.0, 1.0), 0))
SHUT = tuple(date(2026, 12, n) for n in range(24, 32))
CALENDAR = working_calendar(["GB-ENG"], shut=SHUT)
SETTING = Setting(today=date(2026, 11, 25), hands=CALENDAR, desk=CALENDAR, letters_every=1, target_on=date(2027, 3, 1))
QUESTION = Question(PIECES, PACE, SETTING)


def test_a_forecast_comes_back_from_json_as_it_was():
    asked = (PIECES, PACE, SETTING)
    told = Told(forecast(*asked, n_futures=200), (what_if_answered_today(*asked, n_futures=200),))
    assert told_from_text(json.loads(json.dumps(told_to_text(told)))) == told


def test_a_forecast_without_a_target_comes_back_too():
    told = Told(forecast(PIECES, PACE, replace(SETTING, target_on=None), n_futures=50), ())
    assert told_from_text(json.loads(json.dumps(told_to_text(told)))) == told


def test_every_input_is_in_the_fingerprint():
    others = (
        replace(QUESTION, pieces=PIECES[:1]),
        replace(QUESTION, pace=replace(PACE, rounds=Pool((0.0,), 0))),
        *(
            replace(QUESTION, setting=replace(SETTING, **change))
            for change in (
                {"today": date(2026, 11, 26)},
                {"letters_every": 5},
                {"target_on": None},
                {"answered_today": frozenset({1})},
                {"desk": working_calendar([])},
                {"hands": working_calendar(["GB-ENG"], shut=SHUT[1:])},
            )
        ),
    )
    prints = [QUESTION.fingerprint, *(other.fingerprint for other in others)]
    assert len(set(prints)) == len(prints)


def test_the_fingerprint_is_the_same_in_every_process():
    """Sets are written in another order under another hash seed; a fingerprint must not be."""
    code = "from tests.rules.test_outlook_text import QUESTION; print(QUESTION.fingerprint)"
    for seed in ("1", "2"):
        ran = subprocess.run(
            [sys.executable, "-c", code], env={"PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True
        )
        assert ran.stdout.strip() == QUESTION.fingerprint
