"""The main job, played by its people in a real browser against the running portal.

From the first account to a recorded approval: a book is set up, five seats are taken and a guest let in, three
ideas are handed in, marked, answered in a letter, drawn again, approved; then a sketch that needs two voices.
It ends with the agent reading the rounds. Played once in each mode: embedded, and the house on PostgreSQL,
Redis, Celery and an S3 endpoint.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default as default_policy
from pathlib import Path
from typing import Any

import pytest

from tests.browser.lending import Lending
from tests.cast import PASSWORD
from tests.makers import a_jpeg
from tests.servers import wait_until
from tests.stacks import Stack

pytestmark = [pytest.mark.browser, pytest.mark.servers, pytest.mark.slow]

TITLE = "The Otter Who Kept Time"
HOUSE_WORDS = "She looks past us; the owl-eyed moth must go."


class Player:
    """One person at a browser of their own."""

    def __init__(self, page: Any, stack: Stack, name: str) -> None:
        self.stack, self.name, self.problems = stack, name, []
        self.mails: list[Any] | None = None
        self.page = page
        self.page.set_default_timeout(30_000)
        self.page.on("pageerror", lambda error: self.problems.append(str(error)))

    def go(self, path: str) -> Any:
        answer = self.page.goto(path if path.startswith("http") else self.stack.address + path)
        assert answer.status < 400, (self.name, path, answer.status)
        return self.page

    def press(self, words: str, *, exact: bool = False) -> None:
        self.page.get_by_role("button", name=words, exact=exact).first.click()

    def submit(self, words: str, *, exact: bool = False) -> None:
        """Press a button that sends its form, and wait for the page that answers."""
        with self.page.expect_navigation():
            self.press(words, exact=exact)

    def confirm(self) -> None:
        self.page.locator("[data-ask-yes-button]").click()

    def read(self, path: str) -> str:
        return self.go(path).locator("main").inner_text()

    def link(self, words: str) -> None:
        self.page.get_by_role("link", name=words).first.click()


@pytest.fixture(params=["embedded", "house"])
def stack(request: pytest.FixtureRequest) -> Stack:
    if request.param == "house":
        return request.getfixturevalue("house_stack")
    stack = request.getfixturevalue("embedded")
    stack.start_manage("serve", "serve", "--port", str(stack.port))
    stack.wait_for_web()
    return stack


@pytest.fixture
def enter(request: pytest.FixtureRequest, lending: Lending, stack: Stack) -> Iterator[Any]:
    players: list[Player] = []
    is_house = request.node.callspec.params["stack"] == "house"
    mails = request.getfixturevalue("mail_catcher").mails if is_house else None

    def open_browser(name: str) -> Player:
        players.append(Player(lending.lend(stack.address), stack, name))
        players[-1].mails = mails
        return players[-1]

    yield open_browser
    for player in players:
        lending.take_back(player.page.context)


def set_up(corvin: Player) -> str:
    """Make the first account and the book; returns the book's path."""
    page = corvin.go("/")
    page.fill("[name=email]", "corvin@thimblereed.example")
    page.fill("[name=name]", "Corvin Mallowe")
    page.fill("[name=password]", PASSWORD)
    page.fill("[name=again]", PASSWORD)
    corvin.submit("Make my account")
    corvin.go("/books/new/")
    page.fill("[name=title]", TITLE)
    page.fill("[name=n_pages]", "16")
    page.check("[name=inside][value=every-stage]")
    corvin.submit("Set up the book")
    page.wait_for_url(re.compile(r"/books/\d+/"))
    return re.search(r"/books/\d+/", page.url).group()


def mails_in(folder: Path) -> list[EmailMessage]:
    """Read the mails that the embedded mode writes to files; a file may hold several, parted by a line of dashes."""
    parts = [part for path in sorted(folder.glob("*.log")) for part in path.read_bytes().split(b"-" * 79)]
    return [message_from_bytes(part.strip(), policy=default_policy) for part in parts if part.strip()]


def invitation_link(corvin: Player, email: str) -> str:
    """Take the link from the mail that brings it: the person invited has it from there, and nobody from a page."""
    assert "/invitation/" not in corvin.page.content()

    def link_in_mail() -> str | None:
        written = Path(corvin.stack.environment["ROUGHPROOF_DATA"]) / "mail"
        for mail in corvin.mails if corvin.mails is not None else mails_in(written):
            found = re.search(r"http\S+/invitation/\S+", mail.get_body(("plain",)).get_content())
            if email in mail["To"] and found:
                return found.group()
        return None

    return wait_until(link_in_mail, seconds=30, what=f"the invitation of {email}")


def seat(host: Player, book: str, enter: Any, name: str, email: str, role: str, passage: str = "") -> Player:
    """Invite somebody, and let them in by the link that their mail carries too."""
    page = host.go(f"{book}seats/")
    if passage:
        page.get_by_text("One by one, or a guest").click()
        page.fill("[name=name]", name)
        page.fill("[name=email]", email)
        page.select_option("[name=role]", role)
        page.select_option("[name=passage]", passage)
        host.submit("Send the invitation", exact=True)
    else:
        page.fill("[name=people]", f"{name} <{email}>")
        page.select_option("[name=part]", role)
        host.submit("Send the invitations")
    link = invitation_link(host, email)
    player = enter(name)
    player.go(link)
    if role == "guest":
        player.page.fill("[name=name]", name)
        player.submit("Go to the cover meeting")
    else:
        player.page.fill("[name=password]", PASSWORD)
        player.page.fill("[name=again]", PASSWORD)
        player.submit("Take the seat")
    again = enter(f"{name}, again")
    again.page.goto(link)
    assert "already used" in again.page.locator("main").inner_text()
    return player


def passage_of(player: Player, book: str, label: str, stage: str) -> str:
    """Find a passage from the book map, as one click leads to it."""
    page = player.go(book)
    piece = page.locator(f"a:has-text('{label}')").first
    piece.click()
    page.wait_for_url(re.compile(r"/passages/\d+/"))
    assert stage.lower() in page.locator("h1").inner_text().lower()
    return re.search(r"/passages/\d+/", page.url).group()


def hand_in(juniper: Player, passage: str, files: list[Path], words: str) -> None:
    page = juniper.go(f"{passage}draft/")
    page.set_input_files("[data-choose]", [str(path) for path in files])
    for path in files:
        row = page.locator("[data-pictures] > li", has_text=path.name)
        row.locator("[data-standing]", has_text="Ready to hand in").wait_for()
    page.fill("[name=cover_note]", words)
    juniper.press("Hand in number")
    juniper.confirm()
    page.wait_for_url(re.compile(r"/passages/\d+/$"))
    assert "Handed in: number" in page.inner_text("body")


def mark_box(player: Player, passage: str, words: str, cause: str) -> None:
    """Draw a box on the first picture and write a note."""
    page = player.go(passage)
    board = page.locator("[data-board] .leaflet-image-layer")
    if not board.is_visible():
        page.locator("[data-show-picture]").first.click()
    board.wait_for()
    player.press("Box")
    box = board.bounding_box()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.3 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.7 * box["height"], steps=6)
    page.mouse.up()
    page.get_by_label("What do you ask for here?").fill(words)
    page.check(f"[name=cause][value={cause}]")
    if cause == "brief":
        page.locator("[data-note-form]").get_by_label("Which line of the brief").select_option(index=1)
    player.press("Write it in the letter")
    page.locator("[data-letter-notes]", has_text=words).wait_for()


def answer(corvin: Player, book: str, passage: str, words: str, *, picture: int | None = None) -> None:
    """Give one spread its answer in the letter being written."""
    page = corvin.go(f"{book}letter/")
    section = page.locator(f"#passage-{passage.strip('/').split('/')[-1]}")
    if picture:
        section.locator("[name=picture]").nth(picture - 1).check()
    section.get_by_role("button", name=words, exact=True).click()
    section.locator("[aria-pressed=true]", has_text=words).wait_for()


def send(corvin: Player, book: str) -> str:
    """Look at what sending does, then send; returns what was said before."""
    page = corvin.go(f"{book}letter/")
    page.get_by_role("link", name="Read it before it goes").click()
    page.wait_for_url(re.compile(r"/send/"))
    said = page.locator("main").inner_text()
    corvin.press("Send the letter")
    if page.locator("[data-ask-dialog][open]").count():
        corvin.confirm()
    page.wait_for_url(re.compile(r"/letters/\d+/$"))
    return said


def test_the_main_job_from_ideas_to_a_recorded_approval(stack, enter, tmp_path):
    files = []
    for seed in range(1, 6):
        path = tmp_path / f"otter {seed}.jpg"
        path.write_bytes(a_jpeg(seed, (1518, 768)))
        files.append(path)
    corvin = enter("Corvin")
    book = set_up(corvin)
    juniper = seat(corvin, book, enter, "Juniper Aldersea", "juniper@aldersea.example", "illustrator")
    petra = seat(corvin, book, enter, "Petra Innisfold", "petra@thimblereed.example", "editor")
    desmond = seat(juniper, book, enter, "Desmond Rookley", "desmond@rookley.example", "agent")
    tamsin = seat(corvin, book, enter, "Tamsin Garrick", "tamsin@thimblereed.example", "production")

    # What is asked is written first, and the illustrator reads it.
    page = corvin.go(f"{book}brief/")
    page.get_by_label("What must not happen").fill("Nothing that matters lies in the fold.")
    corvin.press("Save version 1")
    assert "Nothing that matters lies in the fold." in juniper.read(f"{book}brief/")

    # Ideas are handed in from the desk's own list, three at once.
    assert "Pages 4–5" in juniper.read("/")
    ideas = passage_of(juniper, book, "Pages 4–5", "Thumbnails")
    hand_in(juniper, ideas, files[:3], "Three ways into the river.")

    # They are marked; what the house writes stays in the house.
    page = petra.go(ideas)
    page.locator(".option-form").first.locator("[value=this]").click()
    page.locator(".option-mark", has_text="Petra Innisfold").first.wait_for()
    mark_box(petra, ideas, HOUSE_WORDS, "direction")
    mark_box(tamsin, ideas, "The nose lies in the fold.", "brief")
    for outsider in (juniper, desmond):
        outsider.go(ideas)
        assert HOUSE_WORDS not in outsider.page.content()

    # One letter asks for changes and says first what that uses.
    answer(corvin, book, ideas, "Ask for changes")
    assert "Uses round 1 of the 1 in the fee" in send(corvin, book)

    # The illustrator works it down and hands in the next version.
    page = juniper.go(f"{book}letters/")
    juniper.page.locator("a[href*='/letters/']", has_text="etter 1").first.click()
    assert HOUSE_WORDS in page.locator("main").inner_text()
    for n in (1, 2):
        note = page.locator(".sent-note:not([data-answered])").first
        note.locator("[name=response][value=done]").click()  # saved as it is tapped
        page.locator(".sent-note[data-answered]").nth(n - 1).wait_for()
    assert page.locator(".sent-note:not([data-answered])").count() == 0
    hand_in(juniper, ideas, files[3:4], "As the letter asked.")

    # Approval keeps the picture's fingerprint and opens the sketch.
    sha256 = hashlib.sha256(files[3].read_bytes()).hexdigest()
    answer(corvin, book, ideas, "Approve")
    said = send(corvin, book)
    assert sha256[:8] in said and "sketch" in said.lower()

    # The sketch needs two voices: the approval waits for the editor.
    sketch = passage_of(juniper, book, "Pages 4–5", "Rough sketch")
    hand_in(juniper, sketch, files[4:], "The sketch.")
    answer(corvin, book, sketch, "Approve")
    assert "Waits for the editor" in send(corvin, book)
    assert "Approved" not in desmond.go(sketch).locator("h1 + *, .table-head .state").first.inner_text()
    page = petra.go(sketch)
    petra.press("Agree to hand-in 1")
    if page.locator("[data-ask-dialog][open]").count():
        petra.confirm()
    # "Approved, waiting for the editor" stood there before the press.
    page.get_by_role("button", name="Agree to hand-in 1").wait_for(state="detached")
    page.locator(".table-head", has_text="Approved").wait_for()

    # The agent reads the rounds and the ledger; nobody can have changed it.
    account = desmond.go(f"{book}account/?all=1")  # what is done stands folded otherwise
    lines = account.get_by_label("Pages 4–5", exact=True).inner_text().splitlines()
    assert "used" in next(line for line in lines if "1 of 1" in line)
    ledger = desmond.read(f"{book}ledger/")
    assert "Petra Innisfold agreed to hand-in 1 of Pages 4–5, rough sketch." in ledger
    assert HOUSE_WORDS not in ledger
    assert "pinned a note" not in ledger
    stack.manage("verify_ledger")
    for player in (corvin, juniper, petra, desmond, tamsin):
        assert player.problems == [], player.name


def test_a_guest_sees_the_cover_options_and_leaves_one_mark(stack, enter, tmp_path):
    corvin = enter("Corvin")
    book = set_up(corvin)
    juniper = seat(corvin, book, enter, "Juniper Aldersea", "juniper@aldersea.example", "illustrator")
    cover = passage_of(juniper, book, "Cover", "Thumbnails")
    files = []
    for seed in (7, 8):
        path = tmp_path / f"cover {seed}.jpg"
        path.write_bytes(a_jpeg(seed, (768, 768)))
        files.append(path)
    hand_in(juniper, cover, files, "Two covers.")
    number = cover.strip("/").split("/")[-1]
    wilf = seat(corvin, book, enter, "Wilf Sandor", "wilf@thimblereed.example", "guest", passage=number)
    page = wilf.go(cover)
    page.locator(".option-form").nth(1).locator("[name=why]").fill("I can see it across a shop.")
    page.locator(".option-form").nth(1).locator("[value=this]").click()
    page.locator(".option-mark", has_text="Wilf Sandor").first.wait_for()
    assert "I can see it across a shop." in corvin.go(cover).locator("main").inner_text()
    assert wilf.page.goto(f"{stack.address}{book}").status == 403
