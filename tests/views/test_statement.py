"""The statement: on screen, on paper, as a table, as data; for today and for a past day."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, datetime, time, timedelta
from html import unescape

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.models import LedgerEntry
from reviews.rules.contract.timeline import READ_DEEDS
from reviews.rules.states import Role
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.kept import scene
from tests.letter_scene import a_round, answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
@scene
def cast():
    """Two rounds the fee includes one, and an approval, ten and five days ago."""
    long_ago = timezone.now() - timedelta(days=20)
    with as_if_at(long_ago):
        cast = gather(a_book(start_on=long_ago.date()))
        enter(cast)
    with as_if_at(timezone.now() - timedelta(days=10)):
        a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    with as_if_at(timezone.now() - timedelta(days=5)):
        a_round(cast, cast.passage("Pages 4–5", "ideas"), 2, over=True)
        approved(cast, cast.passage("Pages 6–7", "ideas"), 3)
    return cast


def at(cast, name="statement"):
    return reverse(f"reviews:{name}", args=[cast.book.pk])


def read(response) -> str:
    return unescape(response.content.decode())


@pytest.mark.parametrize("role", list(Role)[:5])
def test_every_member_reads_it_with_its_caution(cast, client, role, django_assert_max_num_queries):
    sign_in(client, cast.seat(role).person)
    with django_assert_max_num_queries(8):
        page = read(client.get(at(cast)))
    assert "1 extra" in page
    assert "GBP 150.00" in page
    assert "Check every figure against the signed contract" in page


def test_every_figure_leads_to_lines_the_reader_can_open(cast, client):
    sign_in(client, cast.agent.person)
    page = read(client.get(at(cast)))
    links = set(re.findall(r'href="([^"]*\?only=[\d,]+)"', page))
    assert len(links) > 5
    n_shared = LedgerEntry.objects.filter(book=cast.book, sight="all").count()
    for link in links:
        wanted = {int(line) for line in link.partition("=")[2].split(",")}
        shown = {int(line) for line in re.findall(r'id="entry-(\d+)"', read(client.get(link)))}
        # Nothing but what was asked for, and all of it; no number counts what the other side keeps to itself.
        assert shown == wanted
        assert 0 < min(shown) <= max(shown) <= n_shared


@pytest.mark.parametrize("days_ago", [0, 7])
def test_it_says_how_many_of_the_ledgers_lines_bear_on_it(cast, client, days_ago):
    """The ledger page shows more lines than those that change a figure: both numbers are told."""
    sign_in(client, cast.agent.person)
    day = (timezone.now() - timedelta(days=days_ago)).date()
    response = client.get(at(cast), {"as_of": day.isoformat()})
    until = datetime.combine(day + timedelta(days=1), time(), UTC)
    lines = LedgerEntry.objects.filter(book=cast.book, at__lt=until, sight="all")
    n_read = lines.filter(deed__in=READ_DEEDS).count()
    assert 0 < n_read < lines.count()
    words = re.sub(r"<[^>]+>", "", read(response))
    assert f"{n_read} ledger entries bear on this statement. The ledger shows you {lines.count()} entries" in words
    paper = client.get(at(cast, "statement-paper"), {"as_of": day.isoformat()}).content
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(paper))
    assert f"{n_read} ledger entries bear on it" in " ".join(text.split())


def test_a_note_that_is_not_sent_changes_nothing_on_the_illustrators_statement(cast, client):
    ideas = cast.passage("Pages 8–9", "ideas")
    handed_in(ideas, cast.illustrator, [4])
    sign_in(client, cast.illustrator.person)
    before = re.findall(r"shows you \d+ entries", read(client.get(at(cast))))
    pinned(ideas, cast.editor)
    assert re.findall(r"shows you \d+ entries", read(client.get(at(cast)))) == before != []


def test_turns_that_still_run_stand_apart_from_the_days_of_persons(cast, client):
    ideas = cast.passage("Pages 8–9", "ideas")
    with as_if_at(timezone.now() - timedelta(days=9)):
        handed_in(ideas, cast.illustrator, [4])
    with as_if_at(timezone.now() - timedelta(days=1)):
        answered(cast, ideas, "approve")
        sent(cast)
    sign_in(client, cast.agent.person)
    response = client.get(at(cast))
    page = response.context["page"]
    assert [by for by, _, _ in page.people] == ["Corvin Mallowe", "Juniper Aldersea"]
    assert [role for role, _ in page.unended] == ["illustrator"]
    everybody = page.statement.days_by_person.values()
    shown = [found for *_, found in page.people] + [found for _, found in page.unended]
    assert sum(found.working for found in shown) == sum(found.working for found in everybody)
    persons, running = read(response).split("By person</caption>")[1].split("Turns that still run")[:2]
    assert "Juniper Aldersea" in persons and "Juniper Aldersea" not in running.split("</table>")[0]
    rows = list(csv.DictReader(io.StringIO(client.get(at(cast, "statement-csv")).content.decode("utf-8-sig"))))
    assert [row["Where"] for row in rows if row["About"] == "Days of turns that nobody ended"] == ["illustrator"]


#: What says which thing a figure is about, or by which terms, and is none itself.
NAMES = {"spread", "passage", "version", "entry", "entries_read", "as_of"}
#: What the fee holds is set by the terms or the plan, not by a letter.
SET_BY_TERMS = {"included", "left"}


def unexplained(node, where="figures"):
    """Name every figure that is not nought and has no ledger line of its own."""
    if isinstance(node, list):
        for n, one in enumerate(node):
            yield from unexplained(one, f"{where}[{n}]")
        return
    lines = node.get("entries") or ([node["entry"]] if "entry" in node else [])
    for name, value in node.items():
        if name in NAMES or name in ("entries", "included_by"):
            continue
        is_purse = isinstance(value, dict) and all(isinstance(one, str) for one in value.values())
        if isinstance(value, (dict, list)) and not is_purse:
            yield from unexplained(value, f"{where}.{name}")
            continue
        is_date = isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value)
        is_number = isinstance(value, int) and value
        if is_date or is_number or (is_purse and value):
            behind = node.get("included_by") if name in SET_BY_TERMS else lines
            if not behind:
                yield f"{where}.{name} = {value}"


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT])
def test_every_figure_of_the_data_that_is_not_nought_names_its_ledger_lines(cast, client, role):
    sign_in(client, cast.seat(role).person)
    figures = client.get(at(cast, "statement-json")).json()["figures"]
    assert list(unexplained(figures)) == []
    assert figures["rounds_by_group"] and figures["days_by_person"] and figures["money"]["extra_fees"]["amounts"]
    seqs = set(LedgerEntry.objects.filter(book=cast.book).values_list("seq", flat=True))
    named = {int(seq) for found in re.findall(r'"(?:entries|included_by)": \[([\d, ]*)\]', json.dumps(figures))
             for seq in found.split(",") if seq.strip()}  # fmt: skip
    assert named <= seqs


def test_the_walk_over_the_figures_finds_one_without_lines():
    assert list(unexplained({"days": {"publisher": 3, "entries": []}})) == ["figures.days.publisher = 3"]
    assert list(unexplained({"rounds": {"left": 2, "entries": [4], "included_by": []}})) == ["figures.rounds.left = 2"]
    assert list(unexplained({"sum": {"amounts": {"GBP": "9.00"}, "entries": []}})) == [
        "figures.sum.amounts = {'GBP': '9.00'}"
    ]


def test_every_row_of_the_table_that_is_not_nought_names_its_ledger_lines(cast, client):
    sign_in(client, cast.agent.person)
    rows = csv.DictReader(io.StringIO(client.get(at(cast, "statement-csv")).content.decode("utf-8-sig")))
    told = [row for row in rows if row["About"] not in ("Caution", "Ledger") and row["Value"] not in ("", "0", "0.00")]
    assert len(told) > 40
    assert [row for row in told if not row["Ledger entries"]] == []


def test_every_table_of_the_page_leads_from_its_figures_to_lines(cast, client):
    """Rounds, days by stage, by person and by spread, instalments, extra rounds: each row has a way to its lines."""
    sign_in(client, cast.agent.person)
    page = read(client.get(at(cast)))
    bodies = re.findall(r"<tbody>(.*?)</tbody>", page, re.S)
    rows = [row for body in bodies for row in re.findall(r"<tr(?: class=\"over-line\")?>(.*?)</tr>", body, re.S)]
    assert len(rows) > 15
    # A row of noughts has nothing behind it.
    assert [row for row in rows if "?only=" not in row and re.search(r'"number">[^0<]', row)] == []


def test_a_past_day_shows_what_was_true_then(cast, client):
    sign_in(client, cast.agent.person)
    then = (timezone.now() - timedelta(days=7)).date()
    shown = client.get(at(cast, "statement-json"), {"as_of": then.isoformat()}).json()["figures"]
    now = client.get(at(cast, "statement-json")).json()["figures"]
    assert (shown["rounds"]["used"], shown["rounds"]["over"]) == (1, 0)
    assert (now["rounds"]["used"], now["rounds"]["over"]) == (1, 1)
    assert now["rounds"]["counted"] == 2
    assert "as it stood at the end of that day" in read(client.get(at(cast), {"as_of": then.isoformat()}))


@pytest.mark.parametrize("day", ["2999-01-01", "yesterday", "2026-02-30"])
def test_a_day_that_cannot_be_is_refused_in_a_sentence(cast, client, day):
    sign_in(client, cast.agent.person)
    response = client.get(at(cast), {"as_of": day})
    assert response.status_code == 409
    assert "Give the day of the statement" in read(response)


def test_the_table_says_what_the_data_says(cast, client):
    sign_in(client, cast.illustrator.person)
    response = client.get(at(cast, "statement-csv"))
    rows = list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))
    data = client.get(at(cast, "statement-json")).json()["figures"]
    told = {(row["About"], row["Where"], row["Figure"]): row for row in rows}
    letters = data["rounds"]["entries"]
    rounds = data["rounds"]
    # What is used of the fee and what is left make up what it includes; the round beyond it is told apart.
    assert (rounds["used"], rounds["over"]) == (1, 1)
    assert all(one["used"] + one["left"] == one["included"] for one in data["rounds_by_group"])
    # A round left on one spread is no help to another: neither is added up.
    assert not {"left", "included"} & set(rounds)
    assert not {("Rounds", "the book", "left"), ("Rounds", "the book", "included")} & set(told)
    page = " ".join(re.sub(r"<[^>]*>", " ", read(client.get(at(cast)))).split())
    assert f"{rounds['used']} used, {rounds['over']} extra" in page
    for name in ("used", "over", "outside"):
        row = told["Rounds", "the book", name]
        assert row["Value"] == str(data["rounds"][name])
        assert row["Ledger entries"] == " ".join(map(str, letters))
    assert told["Days", "the book", "publisher late"]["Value"] == str(data["days"]["publisher_late"])
    assert rows[0]["Figure"].startswith("Worked out from the terms")


def test_the_paper_carries_the_same_figures_and_the_caution(cast, client):
    sign_in(client, cast.agent.person)
    body = client.get(at(cast, "statement-paper")).content
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(body))
    text = " ".join(text.split())
    data = client.get(at(cast, "statement-json")).json()["figures"]
    assert f"The whole book {data['rounds']['used']} see below" in text
    assert "GBP 150.00" in text
    assert "Check every figure against the signed contract" in text
    assert body == client.get(at(cast, "statement-paper")).content


def test_what_only_the_illustrator_sees_is_listed_for_nobody_else(cast, client):
    """Line is shown and ink hidden in the short plan: ink passages stand in the illustrator's statement alone."""
    counts = {}
    for role in (Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR):
        sign_in(client, cast.seat(role).person)
        shown = client.get(at(cast, "statement-json")).json()
        counts[role] = [line["stage"] for line in shown["figures"]["passages"]].count("ink")
        assert shown["passages_left_out"] == (0 if role == Role.ILLUSTRATOR else counts[Role.ILLUSTRATOR])
    assert counts[Role.ILLUSTRATOR] > 0
    assert counts[Role.AGENT] == counts[Role.ART_DIRECTOR] == 0


def test_the_days_of_both_sides_and_the_closed_days_add_up_to_the_calendar(cast, client):
    sign_in(client, cast.agent.person)
    days = client.get(at(cast, "statement-json")).json()["figures"]["days"]
    passages = cast.book.passages.exclude(opened_at=None)
    assert days["illustrator"] + days["publisher"] + days["weekend"] + days["holiday"] > 0
    today, total = timezone.now().date(), 0
    for passage in passages:
        until = passage.approved_at.date() if passage.approved_at else today
        total += (until - passage.opened_at.date()).days
    assert sum(days[part] for part in ("illustrator", "publisher", "weekend", "holiday")) == total


@pytest.mark.parametrize(("counts_receipt", "n"), [(True, 1), (False, 0)])
def test_days_that_count_for_both_sides_are_told_on_page_paper_and_table(client, counts_receipt, n):
    """Handed in on day 3, which is the publisher's first day too where the day of receipt counts."""
    monday = timezone.now() - timedelta(days=timezone.now().weekday() + 14)
    with as_if_at(monday):
        cast = gather(a_book(start_on=monday.date()))
        enter(cast, counts_receipt=counts_receipt)
    with as_if_at(monday + timedelta(days=2)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    sign_in(client, cast.agent.person)
    words, days = "1 day of handing over is in the days of both sides", {"as_of": (monday.date() + timedelta(3))}
    assert (words in read(client.get(at(cast), days))) is counts_receipt
    body = client.get(at(cast, "statement-paper"), days).getvalue()
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(body))
    assert (words in re.sub(r"\s+", " ", text)) is counts_receipt
    assert (
        f"Days,the book,of both sides,{n},spread-days" in client.get(at(cast, "statement-csv"), days).content.decode()
    )
