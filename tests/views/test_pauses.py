"""A pause as both sides meet it: proposed on the page, answered on the page, named wherever days are told."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.feeds import make_calendar_link
from reviews.models import Passage, Proposal
from tests.agreed import pause_book
from tests.cast import gather, sign_in
from tests.kept import scene
from tests.makers import a_book

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 6, 9, tzinfo=UTC)
WEEK = {"first": date(2026, 11, 5), "last": date(2026, 11, 11)}
NAMED = "5 November 2026 to 11 November 2026: A broken wrist"


@scene
def a_week_of_november():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        return gather(a_book())


@pytest.fixture
def cast(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return a_week_of_november()


@pytest.fixture
def paused(cast):
    with as_if_at(datetime(2026, 11, 3, 9, tzinfo=UTC)):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
    return cast


def page(client, seat, name, *args) -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse(f"reviews:{name}", args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def posted(client, seat, name, pk, **form) -> str:
    sign_in(client, seat.person)
    with as_if_at(NOW):
        answer = client.post(reverse(f"reviews:{name}", args=[pk]), form, follow=True)
    return answer.content.decode()


def test_proposed_accepted_and_called_for_on_one_page(client, cast):
    form = {"first": "2026-11-09", "last": "2026-11-13", "reason": "The fair."}
    text = posted(client, cast.art_director, "propose-pause", cast.book.pk, **form)
    assert "Proposal 1 is made. Until the other side agrees, every date holds." in text
    assert "Paused</dt><dd>9 November 2026 to 13 November 2026, 5 working days" in text
    assert "The other side waits for your word on 1 proposal." in page(client, cast.illustrator, "desk")
    made = Proposal.objects.get()
    text = posted(client, cast.illustrator, "accept-proposal", made.pk)
    assert "You agreed to proposal 1." in text and "Paused 9 November 2026 to 13 November 2026: The fair" in text
    assert Passage.objects.get(pk=cast.passage("Pages 4–5", "ideas").pk).due_on == date(2026, 11, 16)
    form |= {"pause": "1", "calls_off": "on", "reason": "It is put off."}
    text = posted(client, cast.illustrator, "propose-pause", cast.book.pk, **form)
    assert "none: the pause from 9 November 2026 is called off" in text


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"first": "", "last": "2026-11-13", "reason": "x"}, "day"),
        (
            {"first": "2026-11-13", "last": "2026-11-09", "reason": "x"},
            "would end on 9 November 2026, before it begins",
        ),
        ({"first": "2026-11-13", "last": "", "reason": "x"}, "Say on which day the pause ends"),
        ({"first": "2026-11-07", "last": "2026-11-08", "reason": "x"}, "nothing to pause"),
    ],
)
def test_what_cannot_be_a_pause_is_said_in_a_sentence(client, cast, form, words):
    assert words in posted(client, cast.art_director, "propose-pause", cast.book.pk, **form)
    assert not Proposal.objects.exists()


def test_nobody_who_does_not_speak_for_a_side_is_offered_one(client, cast):
    for seat in (cast.editor, cast.production, cast.agent):
        assert "Propose a pause" not in page(client, seat, "proposals", cast.book.pk), seat
    assert "Propose a pause" in page(client, cast.illustrator, "proposals", cast.book.pk)


def test_it_is_named_wherever_days_are_told(client, paused):
    book, passage = paused.book.pk, paused.passage("Pages 4–5", "ideas").pk
    for name, args in (("statement", [book]), ("schedule", [book])):
        text = page(client, paused.agent, name, *args)
        assert f"{NAMED} (Juniper Aldersea proposed it, Corvin Mallowe agreed)" in text, name
    assert "both sides agreed on a pause" in page(client, paused.agent, "account", book)
    assert "hand-in due, paused until 11 Nov" in page(client, paused.illustrator, "passage", passage)
    assert "hand-in due, paused until 11 Nov" in page(client, paused.illustrator, "desk")
    assert "agreed to pause the book, 5 November 2026 to 11 November 2026" in page(client, paused.agent, "ledger", book)
    assert f"paused {NAMED}" in page(client, paused.agent, "statement-sheet", book)


def test_paper_table_and_data_name_it(client, paused):
    sign_in(client, paused.agent.person)
    book = [paused.book.pk]
    paper = pypdfium2.PdfDocument(client.get(reverse("reviews:statement-paper", args=book)).content)
    assert NAMED in " ".join(" ".join(sheet.get_textpage().get_text_range() for sheet in paper).split())
    table = client.get(reverse("reviews:statement-csv", args=book)).content.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(table)))
    assert any(row[0] == "Pauses" and row[2:4] == ["last day", "2026-11-11"] for row in rows)
    data = json.loads(client.get(reverse("reviews:statement-json", args=book)).content)
    assert data["figures"]["pauses"][0]["first"] == "2026-11-05"
    assert data["figures"]["days"]["paused"] > 0


def test_the_calendar_has_it_without_its_reason(client, paused):
    with as_if_at(NOW):
        link = make_calendar_link(paused.illustrator.person)
    text = client.get(reverse("reviews:calendar-feed", args=[link.secret])).content.decode().replace("\r\n ", "")
    assert "SUMMARY:The Otter Who Kept Time: paused" in text
    event = next(part for part in text.split("BEGIN:VEVENT") if ": paused" in part)
    assert "DTSTART;VALUE=DATE:20261105" in event and "DTEND;VALUE=DATE:20261112" in event
    assert "wrist" not in text


def test_a_book_without_a_pause_says_nothing_of_one(client, cast):
    text = page(client, cast.agent, "statement", cast.book.pk)
    assert "paused" not in text.lower() and "of a pause" not in text
