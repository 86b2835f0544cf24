"""A proof opened as the illustrator's, as they once were, is the printer's from the line on that says so."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from reviews.actions import _opening
from reviews.actions.clock import as_if_at
from reviews.actions.old_proofs import give_old_proofs_on
from reviews.models import Book, LedgerEntry, Notice, Passage
from reviews.notices.wording import subject_of
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, differences, figures
from reviews.rules.contract.statement import PassageLine
from reviews.rules.states import Deed, PassageState, Side
from tests.actions.test_proofs import PLAN
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book(inside=PLAN, start_on=timezone.localdate() - timedelta(days=60)))


@pytest.fixture
def proof(cast, monkeypatch) -> Passage:
    """A proof whose opening says of no printer, forty days ago."""
    with monkeypatch.context() as before, as_if_at(timezone.now() - timedelta(days=40)):
        before.setattr(_opening, "PRINTERS_STAGES", frozenset())
        approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    passage = cast.passage("Pages 4–5", "proof")
    assert passage.state == PassageState.DRAWING
    return passage


def line_of(book: Book, passage: Passage, days: int = 0) -> PassageLine:
    lines = reckon_one(book, timezone.now() + timedelta(days=days)).statement.lines
    return next(line for line in lines if line.passage == passage.pk)


def test_until_then_its_days_are_the_illustrators_and_from_then_on_nobodys(cast, proof):
    before, later = line_of(cast.book, proof).days, line_of(cast.book, proof, 30).days
    assert later.illustrator > before.illustrator > 0
    assert give_old_proofs_on(cast.book.pk) == 1
    for days in (0, 30):
        line = line_of(cast.book, proof, days)
        assert (line.days.illustrator, line.days.illustrator_late) == (before.illustrator, before.illustrator_late)
        assert [(turn.side, turn.is_open) for turn in line.turns] == [(Side.ILLUSTRATOR, False)]
        assert line.due.met_on is None, "nobody handed it in"
        assert line.turns[0].printer_on is not None
    with as_if_at(timezone.now() + timedelta(days=35)):
        handed_in(proof, cast.production, [5])
    turns = line_of(cast.book, proof, 40).turns
    assert [turn.side for turn in turns] == [Side.ILLUSTRATOR, Side.PUBLISHER]
    assert turns[0] == line_of(cast.book, proof).turns[0], "what stands is told the same for ever"


def test_no_earlier_statement_changes_and_a_recount_is_equal(cast, proof):
    yesterday = timezone.localdate() - timedelta(days=1)
    before = export_of(cast.book, yesterday, at=timezone.now())["figures"]
    give_old_proofs_on(cast.book.pk)
    assert export_of(cast.book, yesterday, at=timezone.now())["figures"] == before
    in_a_month = timezone.now() + timedelta(days=30)
    file = export_of(cast.book, None, at=in_a_month)
    assert differences(file["figures"], figures(count_again(file))) == []
    assert list(ledger_faults(cast.book)) == []


def test_it_is_written_once_and_of_no_other_proof(cast, proof):
    approved(cast, cast.passage("Pages 6–7", "colour"), 2)
    newer = cast.passage("Pages 6–7", "proof")
    assert newer.state == PassageState.DRAWING
    n_before = LedgerEntry.objects.count()
    assert (give_old_proofs_on(cast.book.pk), give_old_proofs_on(cast.book.pk)) == (1, 0)
    (entry,) = LedgerEntry.objects.filter(deed=Deed.GIVE_TO_PRINTER)
    assert (entry.passage_id, LedgerEntry.objects.count()) == (proof.pk, n_before + 1)
    assert line_of(cast.book, newer).turns == ()


def test_one_mail_tells_of_all_of_them(cast, proof, monkeypatch):
    with monkeypatch.context() as before, as_if_at(timezone.now() - timedelta(days=30)):
        before.setattr(_opening, "PRINTERS_STAGES", frozenset())
        approved(cast, cast.passage("Pages 6–7", "colour"), 2)
    assert give_old_proofs_on(cast.book.pk) == 2
    first, second = LedgerEntry.objects.filter(deed=Deed.GIVE_TO_PRINTER).order_by("seq")
    assert sentence(first.as_entry()).endswith("So it is from here on with Pages 6–7, proof.")
    assert "So it is" not in sentence(second.as_entry())
    notices = Notice.objects.filter(entry__deed=Deed.GIVE_TO_PRINTER)
    assert set(notices.values_list("entry", flat=True)) == {first.pk} and notices.count() == 4
    assert subject_of(first).startswith("With the printer from now on: Pages 4–5, proof and 1 more")


def test_an_art_still_to_be_drawn_stays_the_illustrators(cast):
    assert give_old_proofs_on(cast.book.pk) == 0
    assert not LedgerEntry.objects.filter(deed=Deed.GIVE_TO_PRINTER).exists()


def test_both_sides_read_of_it(cast, proof, client):
    said = StringIO()
    call_command("verify_ledger", "--hold", stdout=said)
    assert "1 proof is the printer’s from now on" in said.getvalue()
    entry = LedgerEntry.objects.get(deed=Deed.GIVE_TO_PRINTER)
    words = sentence(entry.as_entry())
    assert words.startswith("Pages 4–5, proof is with the printer from here on")
    told = set(Notice.objects.filter(entry=entry).values_list("person", flat=True))
    assert told == {s.person_id for s in (cast.illustrator, cast.agent, cast.art_director, cast.production)}
    for seat in (cast.illustrator, cast.agent, cast.art_director):
        sign_in(client, seat.person)
        statement = client.get(reverse("reviews:statement", args=[cast.book.pk])).content.decode()
        assert "with the printer since" in statement
        account = client.get(reverse("reviews:account", args=[cast.book.pk]) + "?all=1").content.decode()
        assert "number 0" not in account
        assert words in client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
