"""Words typed into a form, and the page then left in every way there is: they come back, or the server has them."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client

from reviews.models import Letter, LiveSession, Note, Person, Seat
from tests.cast import Cast, gather
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, draft, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WORDS = "Let the heron stand in the reeds, please."


@dataclass(frozen=True)
class Desk:
    """One form of the portal: whose it is, where, how one comes to its field, and what the server would have of it."""

    seat: Callable[[Cast], Seat]
    path: Callable[[Cast], str]
    field: str
    open: Callable[[Any], None] = lambda page: None
    kept: Callable[[str], bool] = lambda words: False


def begin_note(page: Any) -> None:
    page.get_by_role("button", name="Point").click()
    page.keyboard.press("Enter")


def first_fold(page: Any) -> None:
    page.locator("details.reply summary").first.click()


FORMS = {
    "opening lines": Desk(
        lambda cast: cast.art_director,
        lambda cast: f"/books/{cast.book.pk}/letter/",
        "#letter-words",
        kept=lambda words: Letter.objects.filter(words=words).exists(),
    ),
    "words of a note": Desk(
        lambda cast: cast.art_director,
        lambda cast: f"/books/{cast.book.pk}/letter/",
        "textarea[name=letter_words] >> nth=0",
        kept=lambda words: Note.objects.filter(letter_words=words).exists(),
    ),
    "new note": Desk(
        lambda cast: cast.editor,
        lambda cast: f"/passages/{cast.passage('Pages 4–5', 'ideas').pk}/",
        "#note-words",
        open=begin_note,
    ),
    "reply to a note": Desk(
        lambda cast: cast.art_director,
        lambda cast: f"/passages/{cast.passage('Pages 4–5', 'ideas').pk}/",
        "details.reply textarea >> nth=0",
        open=first_fold,
    ),
    "reason beside an option": Desk(
        lambda cast: cast.editor,
        lambda cast: f"/passages/{cast.passage('Pages 6–7', 'ideas').pk}/",
        "[data-all-pictures] [name=why] >> nth=1",
    ),
    "answer to a note": Desk(
        lambda cast: cast.illustrator,
        lambda cast: f"/letters/{Letter.objects.get(number=1).pk}/",
        "textarea[name=words] >> nth=0",
    ),
    "cover note": Desk(
        lambda cast: cast.illustrator,
        lambda cast: f"/passages/{cast.passage('Cover', 'ideas').pk}/draft/",
        "textarea[name=words], textarea[name=cover_note]",
    ),
    "invitation": Desk(
        lambda cast: cast.art_director, lambda cast: f"/books/{cast.book.pk}/seats/", "form [name=people]"
    ),
}


def let_in(page: Any, person: Person, at: str) -> None:
    """Sign in again, as the sign-in page would, in the same browser."""
    client = Client()
    client.force_login(person)
    page.context.add_cookies([{"name": k, "value": m.value, "url": at} for k, m in client.cookies.items()])


def by_link(page: Any, there: str) -> Any:
    page.locator(".wordmark").click()
    page.wait_for_url(lambda url: url != there)
    return page


def by_back(page: Any, there: str) -> Any:
    page.go_back()
    return page


def by_reload(page: Any, there: str) -> Any:
    page.reload()
    return page


def by_address(page: Any, there: str) -> Any:
    page.goto(there.split("/", 3)[0] + "//" + there.split("/")[2] + "/you/")
    return page


def by_closing(page: Any, there: str) -> Any:
    context = page.context
    page.close(run_before_unload=True)
    fresh = context.new_page()
    fresh.problems = []
    return fresh


def by_signing_out(page: Any, there: str) -> Any:
    page.locator(".person[data-menu] > summary").click()
    page.get_by_role("button", name="Sign out").click()
    for _ in range(60):
        if page.locator("dialog[open]").count() or page.url != there:
            break
        page.wait_for_timeout(100)
    if page.locator("dialog[open]").count():
        assert "not sent yet" in page.locator("dialog[open]").inner_text()
        page.get_by_role("button", name="Not now").click()
    return page


def by_expiry(page: Any, there: str) -> Any:
    LiveSession.objects.all().delete()
    page.reload()
    assert "/sign-in/" in page.url
    return page


def by_dead_server(page: Any, there: str) -> Any:
    page.context.route("**/*", lambda route: route.abort())
    page.evaluate("location.reload()")
    page.wait_for_timeout(300)
    page.context.unroute("**/*")
    return page


def by_going_offline(page: Any, there: str) -> Any:
    page.context.set_offline(True)
    page.evaluate("location.reload()")
    page.wait_for_timeout(300)
    page.context.set_offline(False)
    return page


WAYS = [
    by_link, by_back, by_reload, by_address, by_closing, by_signing_out, by_expiry, by_dead_server, by_going_offline,
]  # fmt: skip


@pytest.fixture
def scene():
    cast = gather(a_book())
    first = cast.passage("Pages 4–5", "ideas")
    a_round(cast, cast.passage("Pages 8–9", "ideas"), 3)
    handed_in(first, cast.illustrator, [0])
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [1, 2])
    draft(cast.passage("Cover", "ideas"), cast.illustrator, [4])
    pinned(first, cast.editor, "Longer.")
    return cast


@pytest.mark.parametrize("name", FORMS)
def test_words_come_back_or_have_arrived_whatever_way_the_page_is_left(visit, scene, live_server, name):
    form = FORMS[name]
    person = form.seat(scene).person
    there = live_server.url + form.path(scene)
    page = visit(person, "/", has_pictures=False)
    lost = []
    for n, leave in enumerate(WAYS):
        words = f"{WORDS} {n}"
        let_in(page, person, live_server.url)
        page.goto(there)
        if not page.locator(form.field).is_visible():
            form.open(page)
        field = page.locator(form.field)
        field.fill("")
        field.press_sequentially(words)
        page = leave(page, there)
        let_in(page, person, live_server.url)
        if page.url != there or leave is not by_signing_out:
            page.goto(there)
        back = page.locator(form.field)
        if back.input_value() != words or not back.is_visible():
            lost.append(leave.__name__)
        elif not form.kept(words):
            assert page.locator(".typed-back").count(), f"nothing says that the words came back {leave.__name__}"
    assert lost == []


def test_the_tries_are_at_least_sixty():
    assert len(FORMS) * len(WAYS) >= 60


def kept_here(page: Any) -> list[str]:
    return page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('roughproof.typed'))")


def test_nobody_else_finds_the_words_on_the_same_device(visit, scene, live_server):
    there = f"/passages/{scene.passage('Pages 6–7', 'ideas').pk}/"
    page = visit(scene.editor.person, there, has_pictures=False)
    why = page.locator("[data-all-pictures] [name=why]").first
    why.press_sequentially("Too scary")
    let_in(page, scene.production.person, live_server.url)
    page.reload()
    assert why.input_value() == ""
    let_in(page, scene.editor.person, live_server.url)
    page.reload()
    assert why.input_value() == "Too scary"


def test_what_was_sent_is_kept_here_no_longer_and_what_was_refused_is(visit, scene):
    letter = Letter.objects.get(number=1)
    page = visit(scene.illustrator.person, f"/letters/{letter.pk}/", has_pictures=False)
    words = page.locator("textarea[name=words]").first
    words.press_sequentially("   ")
    words.fill("Which heron?")
    assert kept_here(page)
    page.locator("button[name=response][value=question]").first.click()  # saved as it is tapped
    page.locator(".response", has_text="Which heron?").wait_for()
    assert kept_here(page) == []
    assert page.locator(".typed-back").count() == 0
    # A reply that the server refuses: the note's own answer is not touched, and the words stay on the device.
    page.locator("details.reply summary").first.click()
    page.locator("details.reply textarea").first.fill("I mean the left one.")
    letter.refresh_from_db()
    Seat.objects.filter(pk=scene.illustrator.pk).update(ended_at=letter.sent_at)
    page.locator("details.reply button").first.click()
    page.wait_for_load_state()
    assert len(kept_here(page)) == 1


def test_signing_out_asks_and_then_drops_the_words(visit, scene):
    page = visit(scene.editor.person, f"/passages/{scene.passage('Pages 6–7', 'ideas').pk}/", has_pictures=False)
    page.locator("[data-all-pictures] [name=why]").first.press_sequentially("Too scary")
    page.locator(".person[data-menu] > summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_text("Words you typed are not sent yet: Pages 6–7, ideas. Signing out drops them.").wait_for()
    page.get_by_role("button", name="Drop them and sign out").click()
    page.wait_for_url("**/sign-in/**")
    assert kept_here(page) == []


def test_the_page_before_sending_has_the_words_typed_a_moment_ago(visit, scene):
    scene_letter = f"/books/{scene.book.pk}/letter/"
    page = visit(scene.art_director.person, scene_letter, has_pictures=False)
    page.get_by_role("button", name="Ask for changes").first.click()
    page.locator("button[value=ask][aria-pressed=true]").first.wait_for()
    page.locator("#letter-words").fill("Dear Juniper, the heron.")
    page.locator(".send-ledge a").click()
    page.wait_for_url("**/send/")
    assert Letter.objects.filter(words="Dear Juniper, the heron.").exists()


def test_signed_out_while_writing_is_said_with_the_way_back(visit, scene, live_server):
    page = visit(scene.editor.person, f"/passages/{scene.passage('Pages 6–7', 'ideas').pk}/", has_pictures=False)
    page.locator("[data-all-pictures] [name=why]").first.fill("Too scary")
    LiveSession.objects.all().delete()
    page.locator("[data-all-pictures] button[value=not_this]").first.click()
    page.get_by_text("kept on this device").first.wait_for()
    way = page.get_by_role("link", name="Sign in again")
    assert way.get_attribute("href").startswith("/sign-in/?next=%2Fpassages%2F")
    let_in(page, scene.editor.person, live_server.url)
    page.reload()
    assert page.locator("[data-all-pictures] [name=why]").first.input_value() == "Too scary"


def test_dropped_words_do_not_come_back(visit, scene):
    page = visit(scene.editor.person, f"/passages/{scene.passage('Pages 6–7', 'ideas').pk}/", has_pictures=False)
    why = page.locator("[data-all-pictures] [name=why]").first
    why.press_sequentially("Too scary")
    page.reload()
    page.get_by_role("button", name="Drop it").first.click()
    assert why.input_value() == ""
    page.reload()
    assert (why.input_value(), page.locator(".typed-back").count()) == ("", 0)


def test_a_note_put_away_by_mistake_is_brought_back_by_one_press(visit, scene):
    page = visit(scene.editor.person, f"/passages/{scene.passage('Pages 4–5', 'ideas').pk}/", has_pictures=False)
    begin_note(page)
    page.locator("#note-words").press_sequentially("A heron")
    page.keyboard.press("Escape")
    page.locator("[data-note-form]").wait_for(state="hidden")
    page.get_by_role("button", name="Bring the words back").click()
    assert page.locator("#note-words").input_value() == "A heron"
    page.locator("[name=cause][value=direction]").check()
    page.locator("[data-send-words]").click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    assert Note.objects.filter(words="A heron").count() == 1
    page.reload()
    assert page.locator("[data-note-form]").is_hidden()
