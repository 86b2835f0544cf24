"""Notices and forecasts keep codes and values where they kept English; words are made where they are read."""

import re
from datetime import datetime

from django.db import migrations, models

_DAY = r"(\d+ [A-Z][a-z]+ \d{4})"
_CANNOT = re.compile(
    rf"(?s)(.+) cannot be done by {_DAY} any more: with every day kept from now on it would be done on {_DAY}\. "
    r"It waits for the (illustrator|publisher)\."
)
_DUE = re.compile(r"(?s)(.+): the (?:hand-in|answer) (?:is|was) due\b.*")
_DAYS = re.compile(r"(\d+) working days?")

_CASES = re.compile("First versions: (.+)\\. Redone versions: (.+)\\. Answers: (.+)\\. Rounds: (.+)\\.")
_CHANGES = {
    "If the letter goes today": "answered-today",
    "If the publisher keeps to the terms": "publisher-in-time",
    "If the illustrator keeps to the terms": "illustrator-in-time",
}
_WAITING = re.compile(r"(\d+) spreads? waits? for")


def _iso(day):
    return datetime.strptime(day, "%d %B %Y").date().isoformat()


def told_of(kind, cause, words):
    """Read a notice's sentence back into its code and values; what cannot be read is kept as it was written."""
    if kind == "cannot-meet" and (found := _CANNOT.fullmatch(words)):
        label, final_on, earliest_on, side = found.groups()
        return {
            "code": "cannot-meet",
            "label": label,
            "final_on": _iso(final_on),
            "earliest_on": _iso(earliest_on),
            "waits_for": side,
        }
    key = cause.removeprefix("due:").split("/")
    if kind == "due" and len(key) == 4 and (found := _DUE.fullmatch(words)):
        _, side, due_on, urgency = key
        days = _DAYS.search(words, found.end(1))
        return {
            "code": "due",
            "where": found[1],
            "side": side,
            "urgency": urgency,
            "due_on": due_on,
            "days": int(days[1]) if days else 0,
        }
    return {"code": "as-written", "words": words}


def forecast_in_codes(text):
    """Put codes in place of a kept forecast's sentences; None where they cannot be read."""
    outlook = dict(text["outlook"])
    found = _CASES.fullmatch(outlook.pop("words", ""))
    if found is None:
        return None
    cases = [re.match(r"\d+", words) for words in found.groups()]
    outlook["n_cases"] = [int(case[0]) if case else 0 for case in cases]
    what_ifs = []
    for told in text["what_ifs"]:
        told = dict(told)
        note, change = told.pop("note", ""), _CHANGES.get(told.pop("words"))
        if change is None:
            return None
        waiting = _WAITING.match(note)
        what_ifs.append({**told, "change": change, "n_waiting": int(waiting[1]) if waiting else 0})
    return {"outlook": outlook, "what_ifs": what_ifs}


def into_codes(apps, schema_editor):
    notices = apps.get_model("reviews", "Notice").objects
    for notice in notices.exclude(words="").iterator():
        notice.told = told_of(notice.kind, notice.cause, notice.words)
        notice.save(update_fields=["told"])
    for forecast in apps.get_model("reviews", "Forecast").objects.iterator():
        if (text := forecast_in_codes(forecast.text)) is None:
            forecast.delete()  # computed anew when the book is next looked at
        else:
            forecast.text = text
            forecast.save(update_fields=["text"])


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0042_words_leave"),
    ]

    operations = [
        migrations.AddField(
            model_name="notice",
            name="told",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.RunPython(into_codes, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name="notice",
            name="words",
        ),
        migrations.AlterField(
            model_name="book",
            name="binding",
            field=models.CharField(
                choices=[("case", "case"), ("paperback", "paperback"), ("board", "board")], max_length=12
            ),
        ),
        migrations.AlterField(
            model_name="book",
            name="ends",
            field=models.CharField(choices=[("self", "self"), ("separate", "separate")], max_length=12),
        ),
        migrations.AlterField(
            model_name="invitation",
            name="role",
            field=models.CharField(
                choices=[
                    ("illustrator", "illustrator"),
                    ("art_director", "art_director"),
                    ("editor", "editor"),
                    ("agent", "agent"),
                    ("production", "production"),
                    ("guest", "guest"),
                ],
                max_length=14,
            ),
        ),
        migrations.AlterField(
            model_name="job",
            name="state",
            field=models.CharField(
                choices=[("queued", "Queued"), ("running", "Running"), ("done", "Done"), ("failed", "Failed")],
                default="queued",
                max_length=8,
            ),
        ),
        migrations.AlterField(
            model_name="letteranswer",
            name="answer",
            field=models.CharField(
                choices=[("approve", "approve"), ("approve_small", "approve_small"), ("ask", "ask")], max_length=14
            ),
        ),
        migrations.AlterField(
            model_name="note",
            name="cause",
            field=models.CharField(
                choices=[("brief", "brief"), ("direction", "direction"), ("text", "text"), ("question", "question")],
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="note",
            name="response",
            field=models.CharField(
                blank=True,
                choices=[("done", "done"), ("not_done", "not_done"), ("question", "question")],
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="passage",
            name="state",
            field=models.CharField(
                choices=[
                    ("closed", "closed"),
                    ("drawing", "drawing"),
                    ("answering", "answering"),
                    ("approved", "approved"),
                    ("passed", "passed"),
                ],
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="person",
            name="mail",
            field=models.CharField(
                choices=[("at-once", "at-once"), ("daily", "daily"), ("none", "none")], default="at-once", max_length=8
            ),
        ),
        migrations.AlterField(
            model_name="seat",
            name="role",
            field=models.CharField(
                choices=[
                    ("illustrator", "illustrator"),
                    ("art_director", "art_director"),
                    ("editor", "editor"),
                    ("agent", "agent"),
                    ("production", "production"),
                    ("guest", "guest"),
                ],
                max_length=14,
            ),
        ),
        migrations.AlterField(
            model_name="stage",
            name="gate",
            field=models.CharField(
                choices=[("answers", "answers"), ("shown", "shown"), ("hidden", "hidden")], max_length=8
            ),
        ),
        migrations.AlterField(
            model_name="stage",
            name="kind",
            field=models.CharField(
                choices=[
                    ("ideas", "ideas"),
                    ("sketch", "sketch"),
                    ("full_sketch", "full_sketch"),
                    ("line", "line"),
                    ("ink", "ink"),
                    ("flats", "flats"),
                    ("colour", "colour"),
                    ("finish", "finish"),
                    ("proof", "proof"),
                ],
                max_length=12,
            ),
        ),
    ]
