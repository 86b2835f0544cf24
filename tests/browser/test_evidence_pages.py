"""The pages that hold evidence, on a desk, a tablet and a phone: nothing sticks out, the codes are whole."""

import pytest
from django.urls import reverse

from reviews.actions import notes, seats
from reviews.models import Letter
from reviews.queries.line_names import last_stand, names_of
from reviews.rules.states import Role
from reviews.tasks.paper import paper_of
from tests.cast import gather
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, draft, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIDTHS = (1440, 820, 390)


@pytest.fixture
def cast():
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    letter = a_round(cast, ideas, 1)
    note = letter.notes.filter(state="sent").first()
    notes.answer_note(note.pk, response="not_done", words="The moon is behind her.", actor=cast.illustrator)
    paper_of(Letter.objects.get(pk=letter.pk))
    handed_in(ideas, cast.illustrator, [2])
    draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [3])
    pinned(ideas, cast.editor)
    return cast


def paths(cast) -> dict[str, tuple[Role, str]]:
    book = cast.book.pk
    codes = reverse("reviews:ledger-codes", args=[book])
    stand = last_stand(book, names_of(book, Role.AGENT))
    return {
        "seats": (Role.ART_DIRECTOR, reverse("reviews:seats", args=[book])),
        "ledger": (Role.ART_DIRECTOR, reverse("reviews:ledger", args=[book])),
        "codes": (Role.AGENT, f"{codes}?codes=line+3,+code+ABCD-EFGH-IJKL-MNOP%0A{stand}"),
        "letter": (Role.AGENT, reverse("reviews:letter", args=[Letter.objects.filter(number=1).get().pk])),
        "statement": (Role.AGENT, reverse("reviews:statement", args=[book])),
    }


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_sticks_out_and_every_code_is_whole(visit, cast, width):
    for name, (role, path) in paths(cast).items():
        page = visit(cast.seat(role).person, path, has_pictures=False, viewport={"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, (name, width)
        assert page.problems == []
        for code in page.locator(".ledger-line code").all()[:5]:
            box = code.bounding_box()
            assert box["x"] >= 0 and box["x"] + box["width"] <= width, (name, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_farewell_is_read_and_leads_to_its_archive(visit, cast, width):
    seats.end_seat(cast.illustrator.pk, actor=cast.agent)
    page = visit(cast.illustrator.person, "/", has_pictures=False, viewport={"width": width, "height": 900})
    page.get_by_role("link", name=cast.book.title).click()
    page.locator("summary", has_text="newest first").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    with page.expect_download() as waited:
        page.get_by_role("link", name="Take it all home as one archive").click()
    assert waited.value.suggested_filename.endswith("-kept.zip")
    assert page.problems == []


def test_a_code_from_a_letter_is_pasted_and_agrees_and_a_wrong_one_does_not(visit, cast):
    letter = Letter.objects.filter(number=1).get()
    page = visit(cast.agent.person, reverse("reviews:letter", args=[letter.pk]), has_pictures=False)
    said = page.get_by_text("This letter is recorded at").inner_text()
    codes = reverse("reviews:ledger-codes", args=[cast.book.pk])
    page.goto(page.url.replace(reverse("reviews:letter", args=[letter.pk]), codes))
    page.get_by_label("Lines and codes").fill(said)
    page.get_by_role("button", name="Check them").click()
    page.get_by_text("agrees: everything up to it").wait_for()
    page.get_by_label("Lines and codes").fill("line 2, code ABCD-EFGH-IJKL-MNOP")
    page.get_by_role("button", name="Check them").click()
    page.get_by_text("Line 2 does not agree.").wait_for()
