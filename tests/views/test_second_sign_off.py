"""The second sign-off in a row: what waits for one person, its text beside the art, a press each or one for several."""

from __future__ import annotations

import re

import pytest

from reviews.actions import second_voice
from reviews.models import Agreement, LedgerEntry, Picture
from reviews.rules.states import Deed, PassageState, Refused, Role
from tests.briefs import written
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
PAGES = ("4–5", "6–7", "8–9", "10–11", "12–13")


@pytest.fixture
def cast():
    return gather(a_book())


def sketches(cast, n: int = 5):
    """Hand in sketches and approve them by one letter, so that they wait for the editor alone."""
    for seed, kind in ((10, "ideas"), (20, "sketch")):
        for more, pages in enumerate(PAGES[:n]):
            passage = cast.passage(f"Pages {pages}", kind)
            handed_in(passage, cast.illustrator, [seed + more])
            answered(cast, passage, "approve")
        sent(cast)
    Picture.objects.update(has_preview=True)
    return [cast.passage(f"Pages {pages}", "sketch") for pages in PAGES[:n]]


def as_editor(client, cast):
    sign_in(client, cast.editor.person)
    return client


def row_of(cast) -> str:
    return f"/books/{cast.book.pk}/second-sign-off/"


def named(page: str) -> list[str]:
    return re.findall(r'<h2 id="where-\d+">([^<]+)</h2>', page)


def test_five_spreads_take_five_presses_and_the_next_stands_first_each_time(client, cast):
    waiting = sketches(cast)
    as_editor(client, cast)
    desk = client.get("/").content.decode()
    assert f'<a href="{row_of(cast)}">Agree or object: 5 spreads</a>' in desk
    assert f'<a href="{row_of(cast)}">All 5 that wait for your sign-off, in a row</a>' in desk
    for n, sketch in enumerate(waiting):
        page = client.get(row_of(cast)).content.decode()
        assert named(page) == [f"Pages {pages}, sketch" for pages in PAGES[n:]]
        answer = client.post(f"/hand-ins/{sketch.hand_in_id}/agree/", {"back": row_of(cast)})
        assert (answer.status_code, answer.url) == (302, row_of(cast))
        sketch.refresh_from_db()
        assert sketch.state == PassageState.APPROVED
    assert "Nothing waits for your word here." in client.get(row_of(cast)).content.decode()


def test_several_are_agreed_to_at_once_with_an_entry_each(client, cast):
    waiting = sketches(cast, 3)
    page = as_editor(client, cast).get(row_of(cast)).content.decode()
    assert re.findall(r'name="hand_in" value="(\d+)"', page) == [str(one.hand_in_id) for one in waiting]
    assert "Agree to 3 spreads?" in page, "asked with their names before"
    client.post(f"{row_of(cast)}agree/", {"hand_in": [one.hand_in_id for one in waiting]})
    for one in waiting:
        one.refresh_from_db()
        assert one.state == PassageState.APPROVED
    assert LedgerEntry.objects.filter(book=cast.book, deed=Deed.AGREE).count() == 3


def test_all_or_none_where_one_waits_no_more_or_is_anothers(client, cast):
    first, second = sketches(cast, 2)
    second_voice.object_to(second.hand_in_id, "Her hand is too far in the gutter.", actor=cast.editor)
    answer = as_editor(client, cast).post(
        f"{row_of(cast)}agree/", {"hand_in": [first.hand_in_id, second.hand_in_id]}, follow=True
    )
    assert "One of these spreads waits for no agreement any more" in answer.content.decode()
    first.refresh_from_db()
    assert first.state == PassageState.ANSWERING
    for bad in ([], [10**9], [first.hand_in_id, 10**9]):
        with pytest.raises(Refused):
            second_voice.agree_together(cast.book.pk, bad, actor=cast.editor)
    assert not Agreement.objects.filter(agrees=True).exists()


def test_what_one_marked_oneself_what_is_not_read_and_what_no_letter_approved_are_not_among_the_several(client, cast):
    marked, unread, *plain = sketches(cast, 4)
    fifth = cast.passage("Pages 12–13", "ideas")
    approved(cast, fifth, 40)
    early = cast.passage("Pages 12–13", "sketch")
    handed_in(early, cast.illustrator, [41])
    pinned(marked, cast.editor, "The hem.")
    Picture.objects.filter(hand_in=unread.hand_in_id).update(has_preview=False)
    page = as_editor(client, cast).get(row_of(cast)).content.decode()
    assert re.findall(r'name="hand_in" value="(\d+)"', page) == [str(one.hand_in_id) for one in plain]
    assert named(page)[-1] == "Pages 12–13, sketch", "what no letter answered yet comes last"
    assert "The art director has not answered it yet." in page
    assert "Processing" in page
    assert "1 note on it is in the letter being written." in page


def test_the_text_stands_beside_the_art(client, cast):
    (sketch,) = sketches(cast, 1)
    written(cast, sketch, text="The otter kept the time.")
    page = as_editor(client, cast).get(row_of(cast)).content.decode()
    assert "The otter kept the time." in page
    assert "agree-together" not in page, "one is agreed to by its own press"


def test_an_objection_takes_it_out_of_the_row_and_leads_on(client, cast):
    first, second = sketches(cast, 2)
    as_editor(client, cast)
    answer = client.post(
        f"/hand-ins/{first.hand_in_id}/object/", {"back": row_of(cast), "words": "Not her colour."}, follow=True
    )
    page = answer.content.decode()
    assert named(page) == [f"{second.spread.label}, sketch"]
    assert "The art director is told why you do not agree." in page


def test_without_the_row_one_comes_back_to_the_table_and_nowhere_else(client, cast):
    (sketch,) = sketches(cast, 1)
    answer = as_editor(client, cast).post(
        f"/hand-ins/{sketch.hand_in_id}/agree/", {"back": "https://elsewhere.example/"}
    )
    assert answer.url == f"/passages/{sketch.pk}/"


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION])
def test_the_row_is_the_editors_alone(client, cast, role):
    sign_in(client, cast.seat(role).person)
    assert client.get(row_of(cast)).status_code == 403
    assert client.post(f"{row_of(cast)}agree/", {"hand_in": [1]}).status_code == 403


def test_the_queries_do_not_grow_with_the_row(client, cast, django_assert_max_num_queries):
    sketches(cast, 5)
    as_editor(client, cast)
    with django_assert_max_num_queries(8):
        client.get(row_of(cast))
