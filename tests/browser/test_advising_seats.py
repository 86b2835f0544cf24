"""What author, expert reader, designer, sales and production do, played by each at three widths in three ways.

Each play is read by the other side: the illustrator finds nothing of it before the letter, and afterwards what the
letter took up. Seats change ways from width to width, so that each plays with a mouse, by touch and with the keys.
"""

from __future__ import annotations

from typing import Any

import pytest

from reviews.actions import reading
from reviews.models import Note, OptionMark
from reviews.rules.states import Role
from tests.actions.test_proofs import PLAN
from tests.browser.hands import Hand, hand_in_drawn, window
from tests.cast import Cast, gather
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book, a_jpeg, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]

OTTER = "An otter dives with its eyes open."
RHYME = "She has not met the heron yet on this page."
QUIET = "Keep the left page quiet: the title goes there."
SHOP = "I see it across a shop."
GREY = "The river is greyer than on our print. Back to the printer."
ASKED = "Is this how an otter swims?"
WAYS = ("mouse", "touch", "keys")
WIDTHS = (1440, 820, 390)


class Play:
    """A book with everybody at a browser of their own, all at one width; each seat has its own way of pressing."""

    def __init__(self, visit: Any, cast: Cast, width: int, turn: int) -> None:
        self.visit, self.cast, self.width, self.turn = visit, cast, width, turn
        self.pages: list[Any] = []
        self.readers: dict[Any, Any] = {}

    def at(self, seat: Any, path: str, place: int) -> Any:
        """Let somebody come to a page; their ``place`` among the seats tells how they press at this width."""
        way = WAYS[(place + self.turn) % len(WAYS)]
        page = self.visit(seat.person, path, has_pictures=False, **window(self.width, way))
        page.hand = Hand(page, way)
        self.pages.append(page)
        self.fits(page)
        return page

    def fits(self, page: Any) -> None:
        assert page.evaluate("document.documentElement.scrollWidth") <= self.width, page.url

    def read(self, seat: Any, path: str) -> str:
        """Read all that a page says to somebody, in a browser of their own."""
        if seat not in self.readers:
            self.readers[seat] = self.visit(seat.person, path, has_pictures=False, **window(self.width, "mouse"))
            self.pages.append(self.readers[seat])
            self.home = self.readers[seat].url.removesuffix(path)
        else:
            self.readers[seat].goto(self.home + path)
        page = self.readers[seat]
        self.fits(page)
        typed = page.locator("main textarea").evaluate_all("all => all.map((one) => one.value)")
        return "\n".join([page.locator("main").inner_text(), *typed])

    def holds(self) -> None:
        assert [page.problems for page in self.pages if page.problems] == []


def write_whole(page: Any, words: str, cause: str) -> None:
    """Write a note that marks no place."""
    hand = page.hand
    hand.press(page.locator("summary", has_text="A note on the whole spread or the whole book"))
    hand.write(page.locator("#whole-words"), words)
    hand.pick(page.locator("#cause-whole"), cause)
    hand.press(page.locator(".whole-note button"))
    page.locator("[data-letter]", has_text=words).first.wait_for()


@pytest.fixture
def play(visit: Any, request: pytest.FixtureRequest) -> Play:
    cast = gather(a_book(inside=request.param[2]) if request.param[2] else a_book())
    return Play(visit, cast, *request.param[:2])


ROTATION = list(zip(WIDTHS, range(3), strict=True))


@pytest.mark.parametrize("play", [(*turn, ()) for turn in ROTATION], indirect=True, ids=map(str, WIDTHS))
def test_who_advises_is_read_by_the_house_and_by_the_illustrator_only_once_sent(play: Play) -> None:
    cast = play.cast
    seats = cast.seat_advisers()
    ideas, cover = cast.passage("Pages 4–5", "ideas"), cast.passage("Cover", "ideas")
    handed_in(ideas, cast.illustrator, [1])
    handed_in(cover, cast.illustrator, [2, 3])
    for role in (Role.AUTHOR, Role.READER):
        reading.ask_to_read(cast.book.pk, seats[role].pk, [ideas.spread_id], ASKED, actor=cast.editor)
    table, options = f"/passages/{ideas.pk}/", f"/passages/{cover.pk}/"

    author = play.at(seats[Role.AUTHOR], "/", 0)
    author.hand.press(author.get_by_role("link", name="Read the ideas you are asked about: Pages 4–5"))
    author.wait_for_url(f"**{table}*")
    play.fits(author)
    assert ASKED in author.locator("main").inner_text()
    author.hand.mark_box()
    author.hand.write(author.locator("#note-words"), RHYME)
    author.hand.choose(author.locator("[data-note-form] [name=cause][value=text]"))
    author.hand.press(author.locator("[data-send-words]"))
    author.locator("[data-letter-notes]", has_text=RHYME).wait_for()

    reader = play.at(seats[Role.READER], table, 1)
    assert RHYME not in reader.locator("main").inner_text(), "who is asked reads their own notes only"
    write_whole(reader, OTTER, "direction")

    designer = play.at(seats[Role.DESIGNER], table, 2)
    write_whole(designer, QUIET, "direction")

    sales = play.at(seats[Role.SALES], options, 3)
    option = sales.locator(".option-form").nth(1)
    sales.hand.write(option.locator("[name=why]"), SHOP)
    sales.hand.press(option.locator("[value=this]"))
    sales.locator(".option-mark", has_text=SHOP).first.wait_for()

    letter = play.read(cast.art_director, f"/books/{cast.book.pk}/letter/")
    assert all(words in letter for words in (RHYME, OTTER, QUIET, SHOP))
    for outsider in (cast.illustrator, cast.agent):
        theirs = "".join(play.read(outsider, path) for path in ("/", table, options, f"/books/{cast.book.pk}/ledger/"))
        assert not any(words in theirs for words in (RHYME, OTTER, QUIET, SHOP, ASKED))
    assert OptionMark.objects.get().why == SHOP

    answered(cast, ideas, "ask")
    went = f"/letters/{sent(cast).pk}/"
    for outsider in (cast.illustrator, cast.agent):
        theirs = play.read(outsider, went)
        assert all(words in theirs for words in (RHYME, OTTER, QUIET)) and SHOP not in theirs
        assert not any(seat.person.name in theirs for seat in seats.values()), "who said it stays the publisher's"
    play.holds()


@pytest.mark.parametrize("play", [(*turn, PLAN) for turn in ROTATION], indirect=True, ids=map(str, WIDTHS))
def test_production_hands_in_a_proof_and_its_note_goes_back_to_the_printer(play: Play) -> None:
    cast = play.cast
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    proof = cast.passage("Pages 4–5", "proof")
    table = f"/passages/{proof.pk}/"

    page = play.at(cast.production, f"{table}draft/", 0)
    hand_in_drawn(page, "proof.jpg", a_jpeg(2, (1518, 768)), "The printer's first proof.", number=1)
    page.wait_for_url(f"**{table}*")
    write_whole(page, GREY, "printer")

    assert "The printer's first proof." in play.read(cast.illustrator, table)
    assert not any(GREY in play.read(cast.illustrator, path) for path in ("/", table))

    page = play.at(cast.art_director, table, 1)
    page.hand.press(page.locator("[data-answer-here]").get_by_role("button", name="New proof", exact=True))
    page.locator("[data-answer-here] [aria-pressed=true]", has_text="New proof").wait_for()
    page.goto(page.url.partition("/passages/")[0] + f"/books/{cast.book.pk}/letter/")
    play.fits(page)
    page.hand.press(page.get_by_role("link", name="Read it before it goes"))
    page.wait_for_url("**/send/")
    assert GREY in page.locator("main").inner_text()
    page.hand.press(page.get_by_role("button", name="Send the letter"))
    page.get_by_text("The letter is sent.").wait_for()

    for seat in (cast.illustrator, cast.agent):
        letter = play.read(seat, f"/letters/{Note.objects.get().letter_id}/")
        assert GREY in letter and "printer" in letter.partition(GREY)[2].lower()
    assert "The printer has it" in play.read(cast.illustrator, "/") or "With the printer" in play.read(
        cast.illustrator, "/"
    )
    assert "GBP" not in play.read(cast.production, "/")
    play.holds()
