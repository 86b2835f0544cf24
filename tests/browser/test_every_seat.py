"""The main job, played by all seats at three widths with mouse, finger and keys; each step is read by the other side.

A brief, a hand-in, notes and marks of four people, one letter, its answers, the next version, its approval. Whoever did
not do a thing looks at their own desk, page and mail for it; what is the house's own is looked for in vain by others.
"""

from __future__ import annotations

from typing import Any

import pytest

from reviews import jobs
from reviews.models import Note
from tests.browser.hands import WINDOWS, Hand, hand_in_drawn, window
from tests.browser.test_main_job import mails_in
from tests.cast import gather
from tests.makers import a_book, a_jpeg, handed_in
from tests.tasks.test_comparisons import do_all

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]

HOUSE_WORDS = "She looks past us."
ON_BOOK = "The scarf is blue throughout."
BRIEF = "She carries the pail in both arms."


class Play:
    """The people at their browsers, all of one width and one way."""

    def __init__(self, visit: Any, cast: Any, width: int, way: str, mail: Any) -> None:
        self.cast, self.way, self.options, self.mail = cast, way, window(width, way), mail
        self.visit, self.pages = visit, {}

    def go(self, name: str, path: str) -> Any:
        """Let somebody go to a page, in the browser they have."""
        seat = self.guest if name == "guest" else getattr(self.cast, name)
        if name not in self.pages:
            self.pages[name] = self.visit(seat.person, path, has_pictures=False, **self.options)
            self.pages[name].home = self.pages[name].url[: -len(path)]
        else:
            self.pages[name].goto(self.pages[name].home + path)
        page = self.pages[name]
        page.hand = Hand(page, self.way)
        assert page.evaluate("document.documentElement.scrollWidth") <= self.options["viewport"]["width"], (name, path)
        return page

    def read(self, name: str, path: str) -> str:
        return self.go(name, path).locator("main").inner_text()

    def mails_to(self, name: str) -> str:
        """Read everything that was mailed to somebody."""
        do_all(jobs.LETTER_PAPER)
        do_all(jobs.MAIL)
        to = getattr(self.cast, name).person.email
        mails = [mail for mail in mails_in(self.mail) if to in mail["To"]]
        return "\n".join(f"{mail['Subject']}\n{mail.get_body(('plain',)).get_content()}" for mail in mails)


@pytest.fixture
def play(visit: Any, request: Any, settings: Any, tmp_path: Any) -> Play:
    settings.EMAIL_BACKEND, settings.EMAIL_FILE_PATH = "portal.mail_files.EmailBackend", str(tmp_path / "mail")
    (tmp_path / "mail").mkdir()
    cast = gather(a_book())
    cover = cast.passage("Cover", "ideas")
    play = Play(visit, cast, *request.param, tmp_path / "mail")
    handed_in(cover, cast.illustrator, [8, 9])
    play.guest = cast.invite_guest(cover)
    play.cover, play.ideas = (f"/passages/{cast.passage(label, 'ideas').pk}/" for label in ("Cover", "Pages 4–5"))
    play.book = f"/books/{cast.book.pk}/"
    return play


def write_the_brief(play: Play) -> None:
    page = play.go("art_director", f"{play.book}brief/")
    page.hand.write(page.get_by_label("Art notes"), BRIEF)
    page.hand.press(page.get_by_role("button", name="Save version 1"))
    page.get_by_text("Version 1 of the brief is saved.").wait_for()
    assert BRIEF in play.read("illustrator", f"{play.book}brief/")
    assert "brief" in play.mails_to("illustrator")


def hand_in(play: Play, number: int, words: str) -> None:
    assert "Pages 4–5" in play.read("illustrator", "/")
    page = play.go("illustrator", f"{play.ideas}draft/")
    hand_in_drawn(page, f"otter {number}.jpg", a_jpeg(number, (1518, 768)), words, number=number)
    page.wait_for_url(f"**{play.ideas}")  # what it tells once there may be read away by a page that loads twice
    assert "Pages 4–5" in play.read("art_director", "/")
    assert words in play.read("art_director", play.ideas)
    assert words in play.mails_to("art_director")


def note_and_mark(play: Play) -> None:
    """Two of the house write notes, a guest marks an option: the house reads them, the other side does not."""
    page = play.go("editor", play.ideas)
    page.hand.mark_box()
    page.hand.write(page.get_by_label("What do you ask for here?"), HOUSE_WORDS)
    page.hand.choose(page.locator("[data-note-form] [name=cause][value=direction]"))
    page.hand.press(page.locator("[data-send-words]"))
    page.locator("[data-letter-notes]", has_text=HOUSE_WORDS).wait_for()
    page = play.go("production", play.ideas)
    page.hand.press(page.locator("summary", has_text="A note on the whole spread or the whole book"))
    page.hand.choose(page.locator("[name=reach][value=book]"))
    page.hand.write(page.locator("#whole-words"), ON_BOOK)
    page.hand.pick(page.locator("#cause-whole"), "direction")
    page.hand.press(page.locator(".whole-note").get_by_role("button", name="Write it in the letter"))
    page.locator("[data-letter]", has_text=ON_BOOK).first.wait_for()
    page = play.go("guest", play.cover)
    option = page.locator("[data-all-pictures] .option-form").nth(1)
    page.hand.write(option.locator("[name=why]"), "I see it across a shop.")
    page.hand.press(option.locator("[value=this]"))
    page.locator(".option-mark", has_text="I see it across a shop.").first.wait_for()
    page.hand.press(page.get_by_role("button", name="Take my mark back").first)
    page.locator(".option-mark").first.wait_for(state="detached")
    page.hand.press(page.locator("[data-all-pictures] .option-form").nth(1).locator("[value=this]"))
    page.locator(".option-mark").first.wait_for()
    draft = play.read("art_director", f"{play.book}letter/")
    assert "Wilf Sandor" in draft
    values = (
        play.pages["art_director"]
        .locator("textarea[name=letter_words]")
        .evaluate_all("all => all.map(one => one.value)")
    )
    assert values == [ON_BOOK, HOUSE_WORDS]
    for outsider in ("illustrator", "agent"):
        play.go(outsider, play.ideas)
        assert HOUSE_WORDS not in play.pages[outsider].content()
        assert "across a shop" not in play.read(outsider, play.cover)


def answer(play: Play, passage: str, words: str, *, option: int = 0) -> None:
    """Answer one spread where it lies on the table."""
    page = play.go("art_director", passage)
    if option:
        page.hand.choose(page.locator("[data-answer-here] [name=picture]").nth(option - 1))
    page.hand.press(page.locator("[data-answer-here]").get_by_role("button", name=words, exact=True))
    page.locator("[data-answer-here] [aria-pressed=true]", has_text=words).wait_for()


def send(play: Play) -> str:
    page = play.go("art_director", f"{play.book}letter/")
    page.hand.press(page.get_by_role("link", name="Read it before it goes"))
    page.wait_for_url("**/send/")
    said = page.locator("main").inner_text()
    page.hand.press(page.get_by_role("button", name="Send the letter"))
    page.get_by_text("The letter is sent.").wait_for()
    return said


def letter_asks(play: Play) -> str:
    answer(play, play.ideas, "Ask for changes")
    answer(play, play.cover, "Approve", option=2)
    said = send(play)
    assert "Uses round 1 of the 1 in the fee" in said and "option 2" in said
    path = play.pages["art_director"].url.removeprefix(play.pages["art_director"].home)
    for name in ("illustrator", "agent", "editor", "production"):
        read = play.read(name, path)
        assert read.index(ON_BOOK) < read.index(HOUSE_WORDS), name
        assert "Uses round 1 of the 1 in the fee" in read and "option 2" in read, name
    desk = play.read("illustrator", "/")
    assert desk.index("Approved lately") < desk.index("Pages 4–5") and "option 2" in desk
    mail = play.mails_to("illustrator")
    assert HOUSE_WORDS in mail and ON_BOOK in mail and "option 2" in mail
    assert HOUSE_WORDS in play.mails_to("agent")
    assert "You can change your mark" not in play.read("guest", play.cover)
    return path


def answer_the_notes(play: Play, letter: str) -> None:
    page = play.go("illustrator", letter)
    first = page.locator(".sent-note").nth(0)
    page.hand.press(first.get_by_role("button", name="Done", exact=True))
    page.locator(".sent-note[data-answered]").first.wait_for()
    second = page.locator(".sent-note").nth(1)
    page.hand.press(second.get_by_role("button", name="I have a question"))
    page.hand.write(second.locator(".respond textarea"), "Past whom?")
    page.keyboard.press("Tab")
    second.locator(".response", has_text="Past whom?").wait_for()
    assert "Past whom?" in play.read("art_director", letter)
    assert "Past whom?" in play.read("editor", play.ideas)


def approve(play: Play) -> None:
    answer(play, play.ideas, "Approve")
    assert "Opens sketch, due on" in send(play)
    assert "Pages 4–5, ideas" in play.read("illustrator", "/").partition("Approved lately")[2]
    assert "Approved" in play.mails_to("illustrator")
    account = play.read("agent", f"{play.book}account/?all=1")
    assert "1 of 1" in account
    ledger = play.read("agent", f"{play.book}ledger/")
    assert "Corvin Mallowe" in ledger and "across a shop" not in ledger
    assert "Sketch" in play.read("production", play.book)


@pytest.mark.parametrize(
    "play", [(width, way) for width in WINDOWS for way in ("mouse", "touch", "keys")], indirect=True
)
def test_the_main_job_for_every_seat(play: Play) -> None:
    write_the_brief(play)
    hand_in(play, 1, "Three ways into the river.")
    note_and_mark(play)
    letter = letter_asks(play)
    answer_the_notes(play, letter)
    hand_in(play, 2, "As the letter asked.")
    approve(play)
    assert Note.objects.exclude(response="").count() == 2
    for name, page in play.pages.items():
        assert page.problems == [], name
