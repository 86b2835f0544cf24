"""What a letter does to rounds, dates and money: the same before it goes, on its page ever after, and on paper."""

import re
from unittest import mock

import pytest
from django.urls import reverse
from pypdfium2 import PdfDocument

from reviews.actions.taking_back import take_back_letter
from reviews.models import LedgerEntry
from reviews.pages.letter_pages import letter_page
from reviews.rules.states import Deed, Role
from reviews.tasks.paper import paper_of
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    return ideas


@pytest.fixture
def as_role(client, cast):
    def enter(role: Role):
        sign_in(client, cast.seat(role).person)
        return client

    return enter


def told_of(html: str) -> tuple[list[str], str]:
    """Read what a page says the letter does to each spread, and its table of costs."""
    effects = [text for found in re.findall(r'<ul class="consequence.*?</ul>', html, re.S)
               for text in re.findall(r"<li[^>]*>(.*?)</li>", found, re.S)]  # fmt: skip
    [table] = re.findall(r'<table class="ruled stacks">.*?</table>', html, re.S)
    return effects, " ".join(re.sub(r"<[^>]+>", " ", table).split())


def test_a_sent_letter_and_its_paper_tell_rounds_dates_and_money_as_they_were_read_before(as_role, cast, ideas):
    a_round(cast, cast.passage("Pages 8–9", "ideas"), 7)
    beyond, second = cast.passage("Pages 8–9", "ideas"), cast.passage("Pages 6–7", "ideas")
    handed_in(beyond, cast.illustrator, [8])
    handed_in(second, cast.illustrator, [4])
    pinned(ideas, cast.editor)
    pinned(beyond, cast.editor)
    for passage, given in ((ideas, "ask"), (beyond, "ask"), (second, "approve")):
        answered(cast, passage, given)
    url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    before = told_of(as_role(Role.ART_DIRECTOR).get(url).content.decode())
    assert any("Uses round 1 of the 1 in the fee." in line for line in before[0])
    assert any("Extra round: this is round 2; the fee covers 1." in line for line in before[0])
    assert any("Opens sketch, due on" in line for line in before[0])
    letter = sent(cast, over=True)
    paper = PdfDocument(paper_of(letter))
    said = " ".join(" ".join(page.get_textpage().get_text_range() for page in paper).split())
    for role in (Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR):
        page = as_role(role).get(reverse("reviews:letter", args=[letter.pk])).content.decode()
        assert told_of(page) == before, role
        assert "signed contract" in page.partition("What it costs")[2], "money is told with its caution"
    for line in before[0]:
        assert line.partition(" on ")[0] in said
    for words in ("What it costs", "Round 2; the fee covers 1", "no fee agreed", "signed contract"):
        assert words in said
    take_back_letter(letter.pk, "Sent too early.", actor=cast.art_director)
    page = as_role(Role.ILLUSTRATOR).get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert "Uses round" not in page and "What it costs" not in page, "taken back, it does none of it"


def test_a_letter_of_before_tells_only_what_its_entry_keeps(as_role, cast, ideas):
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    letter = sent(cast)
    entry = LedgerEntry.objects.get(deed=Deed.SEND_LETTER)
    data = {key: value for key, value in entry.data.items() if key != "cost"}
    page = letter_page(letter, Role.ILLUSTRATOR)
    assert page.sections[0].effects[0].words == "Uses round 1 of the 1 in the fee."
    entry.data = data
    with mock.patch("reviews.pages.letter_pages.entry_that_sent", return_value=entry):
        page = letter_page(letter, Role.ILLUSTRATOR)
    assert [line.words[:26] for line in page.sections[0].effects] == ["The next version is due on"]
    assert page.cost is None and not page.tells_cost
