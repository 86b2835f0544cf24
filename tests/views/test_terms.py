"""The terms on screen: who reads what, how they are entered, and what a letter costs before it goes."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import terms
from reviews.actions.proposals import accept_proposal
from reviews.forms.terms import TermsForm
from reviews.models import OverConsent, Proposal, TermsVersion
from reviews.pages.wording.term_sets import READY_SET_NAMES
from reviews.queries.terms import implied_terms
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import Money, WhenOver
from reviews.rules.states import Role, Side
from tests.actions.test_terms import a_round_more, contract, enter
from tests.agreed import change_terms
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, draft_of
from tests.makers import a_book

pytestmark = pytest.mark.django_db
REMARK = "owlglass budget line"


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def as_role(cast, client):
    def sign(role):
        sign_in(client, cast.seat(role).person)
        return client

    return sign


def terms_url(cast):
    return reverse("reviews:terms", args=[cast.book.pk])


def text_of(response) -> str:
    return unescape(response.content.decode())


def posted(terms_, n_seen=0, **changes) -> dict:
    """Fill the form as a browser would post it."""
    form = TermsForm(terms=terms_)
    data = {"n_seen": n_seen}
    for part in form._forms():
        for field in part:
            value = field.value()
            if isinstance(value, bool):
                value = "on" if value else None
            if value is not None:
                data[field.html_name] = str(value)
    return data | changes


def confirmed(cast) -> TermsVersion:
    """Let the agent agree to what the publisher entered."""
    accept_proposal(Proposal.objects.open().get().pk, actor=cast.agent)
    return TermsVersion.objects.latest("number")


def test_without_entered_terms_the_page_says_whose_figures_these_are(cast, as_role):
    page = text_of(as_role(Role.AGENT).get(terms_url(cast)))
    assert "Nobody has entered the contract" in page
    assert "common practice" in page
    assert "Check every figure against the signed contract" in page


@pytest.mark.parametrize("role", list(Role)[:5])
def test_the_remark_is_the_publishers_own(cast, as_role, role):
    change_terms(cast.book.pk, contract(), n_seen=0, house_remark=REMARK, actor=cast.art_director)
    client = as_role(role)
    theirs = role in (Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION)
    assert (REMARK in text_of(client.get(terms_url(cast)))) == theirs
    ledger = text_of(client.get(reverse("reviews:ledger", args=[cast.book.pk])))
    assert REMARK not in ledger
    assert "version 1 of the terms" in ledger


@pytest.mark.parametrize("code", sorted(READY_SETS))
def test_every_ready_set_can_be_entered_as_it_stands(cast, as_role, code):
    client = as_role(Role.ART_DIRECTOR)
    page = client.get(terms_url(cast), {"start": code})
    assert str(READY_SET_NAMES[code]) in text_of(page).replace("&#x27;", "'")
    ready = page.context["form"].rules.initial
    response = client.post(
        reverse("reviews:change-terms", args=[cast.book.pk]),
        posted(READY_SETS[code].terms, from_on=ready["from_on"]),
    )
    assert response.status_code == 302, response.context["form"].error
    stored = confirmed(cast).as_terms()
    ready_terms = READY_SETS[code].terms
    assert stored.stages == ready_terms.stages
    assert [g.rounds for g in stored.groups] == [g.rounds for g in ready_terms.groups]
    assert [g.stages for g in stored.groups] == [g.stages for g in ready_terms.groups]
    assert (stored.fee, stored.instalments, stored.cancellation) == (
        ready_terms.fee, ready_terms.instalments, ready_terms.cancellation,
    )  # fmt: skip


def test_what_the_plans_imply_goes_through_the_form_unchanged(cast):
    implied = implied_terms(cast.book)
    form = TermsForm(posted(implied))
    assert form.is_valid(), form.error
    assert form.read.stages == implied.stages
    assert {(g.part, g.stages, g.rounds) for g in form.read.groups} == {
        (g.part, g.stages, g.rounds) for g in implied.groups
    }


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"all-sketch-hand_in_days": "-3"}, "figures cannot be read"),
        ({"all-sketch-rounds": ""}, "figures cannot be read"),
        ({"place": "Atlantis"}, "The holidays of “Atlantis” are not known"),
        ({"zone": "Middle-earth/Shire"}, "is not a time zone"),
        ({"from_on": "2026-02-30"}, "figures cannot be read"),
        ({"shut": "2026-02-30"}, "cannot be read"),
        ({"instalment-0-share": "40"}, "add up to"),
        ({"fee_currency": "pounds"}, "figures cannot be read"),
        ({"fee_currency": "£"}, "is not a currency"),
        ({"shut": "Christmas"}, "cannot be read"),
        ({"all-ideas-group": "together", "all-sketch-group": "together"}, "give different numbers"),
    ],
)
def test_bad_terms_are_refused_in_a_sentence_and_what_was_typed_stays(cast, as_role, wrong, sentence):
    response = as_role(Role.ART_DIRECTOR).post(
        reverse("reviews:change-terms", args=[cast.book.pk]), posted(contract(), **wrong)
    )
    assert response.status_code == 422
    assert sentence in text_of(response)
    assert "9000.00" in text_of(response)
    assert not TermsVersion.objects.exists()


def test_places_and_zone_are_chosen_by_name_and_each_side_keeps_its_own(cast, as_role):
    client = as_role(Role.ART_DIRECTOR)
    wanted = {"place": "England, United Kingdom", "other_place": "new york, united states", "own_places": "yes"}
    data = posted(contract(), zone="London, Europe", **wanted)
    response = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), data)
    assert response.status_code == 302, response.context["form"].error
    stored = confirmed(cast).as_terms()
    assert (stored.places, stored.own_places, stored.zone) == (("GB-ENG", "US-NY"), True, "Europe/London")
    page = client.get(terms_url(cast))
    assert "England, United Kingdom for the illustrator’s days, New York, United States for the publisher’s" in (
        text_of(page)
    )
    shown = page.context["form"].rules
    assert [shown[name].value() for name in ("place", "other_place", "zone")] == [
        "England, United Kingdom", "New York, United States", "London, Europe",
    ]  # fmt: skip
    book = cast.book
    book.refresh_from_db()
    assert book.calendar_of(Side.ILLUSTRATOR).places == ("GB-ENG",)
    assert book.calendar_of(Side.PUBLISHER).places == ("US-NY",)


def test_one_place_left_empty_keeps_no_holidays_for_that_side_alone(cast, as_role):
    client = as_role(Role.ART_DIRECTOR)
    data = posted(contract(), place="", other_place="US", own_places="yes")
    assert client.post(reverse("reviews:change-terms", args=[cast.book.pk]), data).status_code == 302
    stored = confirmed(cast).as_terms()
    assert [stored.calendar_of(side).places for side in Side] == [(), ("US",)]


def test_fees_and_instalments_carry_their_own_currencies(cast, as_role):
    """A fee in pounds, rounds in euros, one instalment in dollars: each is kept and added up apart."""
    data = posted(contract(), round_fee_currency="eur")
    data |= {
        "instalment-1-name": "For the poster",
        "instalment-1-falls": "start",
        "instalment-1-amount": "400",
        "instalment-1-currency": "USD",
        "instalment-2-name": "For the stickers",
        "instalment-2-falls": "start",
        "instalment-2-amount": "50",
    }
    client = as_role(Role.ART_DIRECTOR)
    response = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), data)
    assert response.status_code == 302, response.context["form"].error
    stored = confirmed(cast).as_terms()
    assert stored.round_fee == Money(Decimal("150.00"), "EUR")
    assert [part.amount for part in stored.instalments] == [
        None, Money(Decimal("400"), "USD"), Money(Decimal("50"), "GBP"),
    ]  # fmt: skip
    figures = client.get(reverse("reviews:statement-json", args=[cast.book.pk])).json()["figures"]["money"]
    assert figures["fallen_due"]["amounts"] == {"GBP": "9050.00", "USD": "400"}
    assert posted(stored)["instalment-1-currency"] == "USD"


def test_no_answer_days_are_called_none_as_on_the_stages_page(cast, as_role):
    """In the short plan line is only shown and ink not seen: nobody answers there."""
    client = as_role(Role.AGENT)
    terms_page, plan = (
        text_of(client.get(url)) for url in (terms_url(cast), reverse("reviews:plan", args=[cast.book.pk]))
    )
    assert 'data-head="Days to answer">0<' not in terms_page + plan
    assert 'data-head="Days to answer"><span class="soft">none</span>' in terms_page
    assert 'data-head="Days to answer"><span class="soft">none</span>' in plan


def test_what_silence_does_is_said_where_it_is_agreed(cast, as_role):
    enter(cast, silence_approves_after=20)
    for role in (Role.ART_DIRECTOR, Role.AGENT, Role.ILLUSTRATOR):
        page = text_of(as_role(role).get(terms_url(cast)))
        assert "Counts as approval after 20 working days without an answer" in page
        assert "Check every figure against the signed contract" in page
    assert "The signed contract decides whether silence may do this" in text_of(
        as_role(Role.ART_DIRECTOR).get(terms_url(cast))
    )


def test_an_amendment_shows_both_versions_and_what_changed(cast, as_role):
    enter(cast)
    later = timezone.now().date() + timedelta(days=40)
    client = as_role(Role.ART_DIRECTOR)
    changes = {"from_on": later.isoformat(), "round_fee": "210.00"}
    response = client.post(
        reverse("reviews:change-terms", args=[cast.book.pk]), posted(contract(), n_seen=1, **changes)
    )
    assert response.status_code == 302
    page = text_of(client.get(terms_url(cast)))
    assert "An amendment entered by one side" in page and "No figure is counted by it until then." in page
    assert "Version 1, in force" in page
    confirmed(cast)
    page = text_of(client.get(terms_url(cast)))
    assert "Version 2: will hold from" in page
    assert "Entered by Corvin Mallowe on" in page and "agreed to by Desmond Rookley on" in page
    assert "Fee for an extra round: GBP 210.00, was GBP 150.00" in page
    assert "Version 1, in force" in page


def test_once_consent_is_asked_for_the_page_and_the_desk_say_that_it_is_waited_for(cast, as_role):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    client = as_role(Role.ART_DIRECTOR)
    sends = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    waits = "on Pages 4–5 it waits for consent to an extra round"
    assert "Ask for it and wait until it is given" in text_of(client.get(sends))
    assert waits not in text_of(client.get(reverse("reviews:desk")))
    terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    page = text_of(client.get(sends))
    assert "Ask for it" not in page and "asked for and not given yet: wait for the answer" in page
    assert waits in text_of(client.get(reverse("reviews:desk")))
    terms.give_consent(passage.pk, actor=cast.agent)
    assert waits not in text_of(client.get(reverse("reviews:desk")))


def test_a_consent_is_declined_and_withdrawn_on_the_terms_page(cast, client):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    sign_in(client, cast.agent.person)
    declined = client.post(reverse("reviews:decline-consent", args=[passage.pk]), {"words": ""}, follow=True)
    assert "Say in a few words why not" in text_of(declined)
    assert OverConsent.objects.open().exists()
    client.post(reverse("reviews:decline-consent", args=[passage.pk]), {"words": "Not without a fee."})
    assert OverConsent.objects.get().ended_words == "Not without a fee."
    sign_in(client, cast.art_director.person)
    send_page = text_of(client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])))
    assert "Desmond Rookley declined it" in send_page and "Not without a fee." in send_page
    assert "Why one more round is needed" in send_page
    sign_in(client, cast.agent.person)
    terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    terms.give_consent(passage.pk, actor=cast.agent)
    assert "Withdraw this consent" in text_of(client.get(terms_url(cast)))
    client.post(reverse("reviews:withdraw-consent", args=[passage.pk]), {"words": "She is ill."})
    assert not OverConsent.objects.open().exists()
    assert "She is ill." in text_of(client.get(reverse("reviews:ledger", args=[cast.book.pk])))


def test_what_is_refused_is_said_at_the_top_in_focus_with_a_way_to_each_field(cast, as_role):
    client, url = as_role(Role.ART_DIRECTOR), reverse("reviews:change-terms", args=[cast.book.pk])
    page = text_of(client.post(url, posted(contract(), **{"all-ideas-rounds": "many", "fee_currency": "pounds"})))
    top = page[page.index('<div class="said wrong refused"') : page.index('<h2 id="now"')]
    assert 'role="alert" tabindex="-1" autofocus' in top
    for at, label in (("id_fee_currency", "Its currency"), ("id_all-ideas-rounds", "Ideas: rounds in the fee")):
        assert f'<a href="#{at}">{label}</a>: ' in top and f'id="{at}"' in page
    whole = text_of(client.post(url, posted(contract(), **{"instalment-0-share": "40"})))
    assert "add up to" in whole[: whole.index('<h2 id="now"')] and 'href="#enter-form"' in whole
    assert "said wrong refused" not in text_of(client.get(terms_url(cast)))


def test_an_amendment_from_a_past_day_is_refused(cast, as_role):
    enter(cast)
    changes = {"from_on": (timezone.now().date() - timedelta(days=1)).isoformat(), "round_fee": "210.00"}
    response = as_role(Role.ART_DIRECTOR).post(
        reverse("reviews:change-terms", args=[cast.book.pk]), posted(contract(), n_seen=1, **changes)
    )
    assert response.status_code == 422
    assert "An amendment applies from" in text_of(response)


def test_the_art_director_sees_the_cost_before_the_letter_goes(cast, as_role, django_assert_max_num_queries):
    enter(cast)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    letter = a_round_more(cast, passage)
    client = as_role(Role.ART_DIRECTOR)
    with django_assert_max_num_queries(12):
        page = text_of(client.get(reverse("reviews:send-letter", args=[letter.pk])))
    assert "Round 2; the fee covers 1" in page
    assert "ound 2 of" not in page, "there is no round 2 of 1"
    assert "GBP 150.00" in page
    assert "Check every figure against the signed contract" in page


def test_consent_is_asked_for_on_the_send_page_and_given_on_the_terms_page(cast, client):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    send_url = reverse("reviews:send-letter", args=[a_round_more(cast, passage).pk])
    sign_in(client, cast.art_director.person)
    before = text_of(client.get(send_url))
    assert "the terms ask for the agent’s consent" in before
    asked = client.post(reverse("reviews:ask-consent", args=[passage.pk]), {"words": "The hill again."})
    assert asked.url == send_url
    sign_in(client, cast.illustrator.person)
    assert "Your consent is asked for" not in text_of(client.get(reverse("reviews:desk")))
    sign_in(client, cast.agent.person)
    desk = text_of(client.get(reverse("reviews:desk")))
    assert "Your consent is asked for" in desk
    for page in (desk, text_of(client.get(terms_url(cast)))):
        card = " ".join(page.split('<dl class="asked-round">')[1].split("</dl>")[0].split())
        assert "<b>2</b>; the fee includes 1" in card
        assert "Price by version 1 of the terms" in card and "<b>GBP 150.00</b>" in card
        assert f"by Corvin Mallowe, art director, on {timezone.now():%-d %B %Y}" in card
        assert "The hill again." in card
    client.post(reverse("reviews:give-consent", args=[passage.pk]))
    assert OverConsent.objects.get().given_by == cast.agent
    sign_in(client, cast.art_director.person)
    after = text_of(client.get(send_url))
    assert "the terms ask for the agent’s consent" not in after
    assert "Desmond Rookley consented" in after


def test_a_reason_left_out_is_asked_for_in_a_sentence(cast, as_role):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    answer = as_role(Role.ART_DIRECTOR).post(
        reverse("reviews:ask-consent", args=[passage.pk]), {"words": " "}, follow=True
    )
    assert "Say in a few words why one more round is needed" in text_of(answer)
    assert not OverConsent.objects.exists()


def test_the_card_says_what_holds_now_where_the_terms_were_amended_since(cast, as_role):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    enter(
        cast, 1, when_over=WhenOver.AGENT_CONSENT, from_on=timezone.now().date(), round_fee=Money(Decimal(210), "GBP")
    )
    desk = text_of(as_role(Role.AGENT).get(reverse("reviews:desk")))
    assert "Price by version 2 of the terms" in desk and "GBP 210" in desk and "GBP 150" not in desk


@pytest.mark.parametrize("page", ["account", "draft-letter", "book-map", "statement"])
def test_every_page_counts_by_the_same_terms(cast, as_role, page):
    """One count: two rounds asked for, one in the fee, wherever one looks."""
    enter(cast)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round(cast, passage, 2, over=True)
    a_round_more(cast, passage, 3)
    seen = text_of(as_role(Role.ART_DIRECTOR).get(reverse(f"reviews:{page}", args=[cast.book.pk])))
    assert ("used, 1 extra" if page == "statement" else "1 round over the 1 in the fee") in seen
