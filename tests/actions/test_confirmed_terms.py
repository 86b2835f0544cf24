"""A version of the terms that one side had entered alone, before agreements, and the other confirms as it stands."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions import _deed
from reviews.actions.terms import confirm_terms
from reviews.models import Book, LedgerEntry, TermsVersion
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.statement import export_of
from reviews.rules.contract.day_counts import counted_by
from reviews.rules.contract.recount import differences
from reviews.rules.contract.terms_text import terms_to_text
from reviews.rules.states import Deed, Refused, Role
from tests.actions.signed import contract, enter
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_terms import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast(monkeypatch):
    """A book of before agreements: its entry of the terms says nothing of a proposal."""
    cast = gather(a_book())
    terms = contract()
    monkeypatch.setattr(_deed, "misfits", lambda deed, data: [])
    with _deed.deed_on(Book, cast.book.pk, Deed.CHANGE_TERMS, cast.art_director) as act:
        text, from_on = terms_to_text(terms), terms.from_on
        act.book.day_counts = [counted_by(terms)]
        act.book.save(update_fields=["day_counts"])
        entry = act.record({"version": 1, "from_on": from_on.isoformat(), "before": None, "terms": text})
        TermsVersion.objects.create(book=act.book, number=1, from_on=from_on, text=text, entry=entry)
    monkeypatch.undo()
    return cast


def refused(*values, **named) -> str:
    with pytest.raises(Refused) as found:
        confirm_terms(*values, **named)
    assert sentence_for(found.value).endswith(".")
    return found.value.code


def page(client, cast, role, name="terms") -> str:
    sign_in(client, cast.seat(role).person)
    return text_of(client.get(reverse(f"reviews:{name}", args=[cast.book.pk])))


def test_one_press_of_the_other_side_makes_it_the_word_of_both(cast, client):
    for name in ("terms", "statement"):
        assert "Entered by one side" in page(client, cast, Role.ILLUSTRATOR, name), name
    assert "Confirm it as it stands" in page(client, cast, Role.ILLUSTRATOR)
    answer = client.post(reverse("reviews:confirm-terms", args=[cast.book.pk]), {"version": 1}, follow=True)
    assert "You confirmed version 1 as it stands." in text_of(answer)
    for name in ("terms", "statement"):
        assert "Entered by one side" not in page(client, cast, Role.AGENT, name), name
    assert "and confirmed as it stands by Juniper Aldersea" in page(client, cast, Role.AGENT)
    assert "Confirm it as it stands" not in page(client, cast, Role.AGENT)


def test_no_figure_changes_and_the_ledger_has_both_names(cast):
    entry = LedgerEntry.objects.filter(book=cast.book).latest("seq")
    before = export_of(cast.book, None, at=entry.at)["figures"]
    confirm_terms(cast.book.pk, 1, actor=cast.agent)
    assert differences(before, export_of(cast.book, None, at=entry.at)["figures"]) == []
    told = sentence(LedgerEntry.objects.get(deed=Deed.CONFIRM_TERMS).as_entry())
    assert told.startswith(
        "Desmond Rookley confirmed version 1 of the terms as it stands, which Corvin Mallowe entered"
    )
    assert list(ledger_faults(cast.book)) == []
    TermsVersion.objects.filter(book=cast.book).update(confirmation=None)
    assert "terms-differ" in {fault.code for fault in ledger_faults(cast.book)}, "a confirmation that was taken away"


def test_whoever_entered_it_confirms_nothing(cast, client):
    assert refused(cast.book.pk, 1, actor=cast.art_director) == "own-terms"
    assert refused(cast.book.pk, 1, actor=cast.editor) == "not-yours"
    assert refused(cast.book.pk, 2, actor=cast.illustrator) == "terms-fresh"
    assert "Confirm it as it stands" not in page(client, cast, Role.ART_DIRECTOR)
    confirm_terms(cast.book.pk, 1, actor=cast.illustrator)
    assert refused(cast.book.pk, 1, actor=cast.agent) == "terms-agreed-already"


def test_what_both_agreed_on_needs_no_confirmation(client):
    cast = gather(a_book())
    enter(cast)
    assert refused(cast.book.pk, 1, actor=cast.illustrator) == "terms-agreed-already"
    assert "Confirm it as it stands" not in page(client, cast, Role.ILLUSTRATOR)
