"""The table of what each part sees and does cannot lie: the server is asked for every cell of it, as every part."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from reviews.actions import letters, notes, reading
from reviews.actions.briefs import change_brief
from reviews.models import Letter, Passage, Picture, Seat
from reviews.queries.letters import letter_fingerprint
from reviews.rules import permits
from reviews.rules.part_table import SEEN, Extent, Thing, extent, whole_table
from reviews.rules.states import Refused, Role
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in
from tests.texts import a_text_block, posted

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

BOX = '{"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}'
TEXT, HOUSE, SENT, OWN = "sparrowgrass-text", "owlglass-house", "tarnwater-sent", "kingcup-own"


@dataclass
class Scene:
    """A cover and a spread waiting for their answers, another approved; a letter sent, a note of the house not sent."""

    cast: Cast
    seats: dict[Role, Seat]
    cover: Passage
    other: Passage
    approved: Passage
    proof: Passage
    letter: Letter

    def picture(self, passage: Passage) -> Picture:
        return Picture.objects.filter(hand_in=Passage.objects.get(pk=passage.pk).hand_in_id).order_by("position")[0]

    @property
    def spreads(self) -> dict[str, Passage]:
        return {"cover": self.cover, "other": self.other, "approved": self.approved}


@pytest.fixture
def scene() -> Scene:
    cast = gather(a_book())
    cover, other = cast.passage("Cover", "ideas"), cast.passage("Pages 4–5", "ideas")
    done, asked = cast.passage("Pages 6–7", "ideas"), cast.passage("Pages 8–9", "ideas")
    for passage in (cover, other, done):
        change_brief(cast.book.pk, passage.spread_id, {"art": TEXT}, seen=0, actor=cast.art_director)
    letter = _letter_that_asks(cast, asked)
    approved(cast, done, 4)
    for n, passage in enumerate((cover, other)):
        handed = handed_in(passage, cast.illustrator, (n,))
        notes.pin_note(
            passage.pk, handed.pictures.get().pk, region={"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]},
            words=HOUSE, cause="direction", actor=cast.editor,
        )  # fmt: skip
    seats = {role: cast.seat(role) for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT)}
    seats |= {Role.PRODUCTION: cast.production, Role.GUEST: cast.invite_guest(cover)} | cast.seat_advisers()
    reading.ask_to_read(cast.book.pk, seats[Role.READER].pk, [cover.spread_id], "Is it so?", actor=cast.editor)
    return Scene(cast, seats, cover, other, done, cast.passage("Cover", "proof"), letter)


def _letter_that_asks(cast: Cast, passage: Passage) -> Letter:
    handed = handed_in(passage, cast.illustrator, (7,))
    box = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}
    notes.pin_note(
        passage.pk, handed.pictures.get().pk, region=box, words=SENT, cause="direction", reach="book",
        actor=cast.art_director,
    )  # fmt: skip
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    begun = Letter.objects.get(book=cast.book, sent_at=None)
    return letters.send_letter(begun.pk, looked_at=letter_fingerprint(begun), actor=cast.art_director)


class Asking:
    """One seat that asks the server; whatever it did is undone again."""

    def __init__(self, scene: Scene, role: Role) -> None:
        self.scene, self.role, self.seat = scene, role, scene.seats[role]
        self.client = Client(raise_request_exception=False)
        sign_in(self.client, self.seat.person)

    def get(self, name: str, *args: object) -> tuple[int, str]:
        response = self.client.get(reverse(f"reviews:{name}", args=args))
        if response.streaming:
            return response.status_code, str(len(b"".join(response.streaming_content)))
        return response.status_code, response.content.decode("utf-8", "replace")

    def opens(self, name: str, *args: object) -> bool:
        return self.get(name, *args)[0] == 200

    def post(self, name: str, *args: object, **data: object) -> int:
        """Say how the server answered: 403 and 404 are no, anything else is a matter of the form or the state."""
        point = transaction.savepoint()
        try:
            return self.client.post(reverse(f"reviews:{name}", args=args), data).status_code
        finally:
            transaction.savepoint_rollback(point)

    def does(self, name: str, *args: object, **data: object) -> bool:
        status = self.post(name, *args, **data)
        assert status < 500, (self.role, name)
        return status not in (403, 404)

    def where(self, asks: Callable[[Passage], bool]) -> Extent:
        """Say on which of the three spreads something is so, and what that comes to."""
        found = {name for name, passage in self.scene.spreads.items() if asks(passage)}
        if found == {"cover", "other", "approved"}:
            return Extent.FULL
        if found == {"cover", "approved"}:
            return Extent.COVER_AND_APPROVED
        if found == {"cover"}:
            return self._by_the_cover_alone(asks)
        assert found == set(), (self.role, found)
        return Extent.NONE

    def _by_the_cover_alone(self, asks: Callable[[Passage], bool]) -> Extent:
        """Tell apart who is asked about the cover, who has one spread, and who has the cover at every stage."""
        point = transaction.savepoint()
        book, spread = self.scene.cast.book.pk, self.scene.other.spread_id
        try:
            reading.ask_to_read(book, self.seat.pk, [spread], "And here?", actor=self.scene.cast.editor)
            assert asks(self.scene.other), "what is asked about is seen"
            return Extent.ASKED
        except Refused:
            sketch = self.scene.cast.passage("Cover", "sketch")
            return Extent.COVER if self.opens("passage", sketch.pk) else Extent.ONE
        finally:
            transaction.savepoint_rollback(point)

    def shows(self, words: str) -> Callable[[Passage], bool]:
        return lambda passage: words in self.get("passage", passage.pk)[1]

    def marks_a_note(self, passage: Passage) -> bool:
        data = {"picture": self.scene.picture(passage).pk, "region": BOX, "words": OWN, "cause": "direction"}
        return self.does("pin-note", passage.pk, **data)

    def reads_own(self, *, sent: bool) -> bool:
        """Say whether a note this seat writes is on the page they see, before a letter or after it."""
        point = transaction.savepoint()
        try:
            cover, director = self.scene.cover, self.scene.cast.art_director
            box = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}
            notes.pin_note(
                cover.pk, self.scene.picture(cover).pk, region=box, words=OWN, cause="direction", actor=self.seat
            )
            if sent:
                letters.set_answer(cover.pk, answer="ask", actor=director)
                begun = Letter.objects.get(book=self.scene.cast.book, sent_at=None)
                letters.send_letter(begun.pk, looked_at=letter_fingerprint(begun), actor=director)
            return OWN in self.get("passage", cover.pk)[1]
        except Refused:
            return False
        finally:
            transaction.savepoint_rollback(point)


_A_BLOCK = posted(a_text_block())


def _whole(is_so: bool) -> Extent:
    return Extent.FULL if is_so else Extent.NONE


def _notes(asking: Asking, words: str, *, sent: bool) -> Extent:
    if asking.shows(words)(asking.scene.cover):
        return Extent.FULL
    return Extent.OWN if asking.reads_own(sent=sent) else Extent.NONE


def _money(asking: Asking) -> Extent:
    pages = ("statement", "statement-csv", "statement-json", "terms", "account", "ledger", "proposals")
    opened = {asking.opens(name, asking.scene.cast.book.pk) for name in pages}
    assert len(opened) == 1, "some of the money is seen and some is not"
    (reads,) = opened
    tells_rounds = 'class="tally' in asking.get("passage", asking.scene.cover.pk)[1]
    assert tells_rounds is reads, "the review table tells rounds to whoever reads the account and nobody else"
    return _whole(reads)


def _hand_in(asking: Asking) -> Extent:
    if asking.opens("draft-hand-in", asking.scene.cast.passage("Pages 10–11", "ideas").pk):
        return Extent.FULL
    return Extent.PROOFS if asking.opens("draft-hand-in", asking.scene.proof.pk) else Extent.NONE


def _option(asking: Asking) -> Callable[[Passage], bool]:
    # Nothing is chosen among what is approved, whoever asks: there the seat's right to the deed is what counts.
    def marks(passage: Passage) -> bool:
        if passage.pk == asking.scene.approved.pk:
            return marks(asking.scene.other)
        picture = asking.scene.picture(passage).pk
        return asking.does("mark-option", passage.pk, picture=picture, verdict="this", why="")

    return marks


MEASURES: dict[Thing, Callable[[Asking], Extent]] = {
    Thing.MAP: lambda a: _whole(a.opens("book-map", a.scene.cast.book.pk)),
    Thing.ART: lambda a: a.where(lambda passage: a.opens("picture-state", a.scene.picture(passage).pk)),
    Thing.ORIGINALS: lambda a: _whole(a.opens("picture-original", a.scene.picture(a.scene.approved).pk)),
    Thing.BRIEF: lambda a: a.where(a.shows(TEXT)),
    Thing.HOUSE_NOTES: lambda a: _notes(a, HOUSE, sent=False),
    Thing.SENT_NOTES: lambda a: _notes(a, SENT, sent=True),
    Thing.LETTERS: lambda a: _whole(a.opens("letters", a.scene.cast.book.pk) and a.opens("letter", a.scene.letter.pk)),
    Thing.CHANGES: lambda a: _whole(a.opens("changes", a.scene.cover.pk)),
    Thing.GEOMETRY: lambda a: _whole(a.opens("template", a.scene.other.spread_id, "svg")),
    Thing.DATES: lambda a: _whole(a.opens("schedule", a.scene.cast.book.pk)),
    Thing.MONEY: _money,
    Thing.MARK_NOTES: lambda a: a.where(a.marks_a_note),
    Thing.MARK_OPTIONS: lambda a: a.where(_option(a)),
    Thing.HAND_IN: _hand_in,
    Thing.SIGN_OFF: lambda a: _whole(a.does("agree", Passage.objects.get(pk=a.scene.cover.pk).hand_in_id)),
    Thing.DECIDE: lambda a: _whole(a.does("set-answer", a.scene.cover.pk, answer="ask")),
    Thing.WRITE_BRIEF: lambda a: _whole(a.does("change-brief", a.scene.cast.book.pk, spread=a.scene.other.spread_id)),
    Thing.PLACE_TEXT: lambda a: _whole(a.does("set-text", a.scene.other.spread_id, **_A_BLOCK)),
    Thing.ASK: lambda a: _whole(a.does("ask-to-read", a.scene.cast.book.pk)),
    Thing.INVITE: lambda a: _whole(a.does("invite", a.scene.cast.book.pk)),
}


def test_every_cell_is_what_the_server_does(scene):
    assert set(MEASURES) == set(Thing)
    wrong = []
    for role in Role:
        asking = Asking(scene, role)
        for thing in Thing:
            found = MEASURES[thing](asking)
            if found != extent(role, thing):
                wrong.append((role.value, thing.value, f"the table says {extent(role, thing)}", f"the server {found}"))
    assert not wrong, "\n".join(map(str, wrong))


def test_the_page_shows_every_cell_as_the_table_has_it(scene):
    _, page = Asking(scene, Role.ART_DIRECTOR).get("seats", scene.cast.book.pk)
    cells = re.findall(r'data-cell="([a-z-]+)"', page)
    assert cells == [cell.value for row in whole_table() for cell in row.cells.values()]
    assert len(cells) == len(Thing) * len(Role)


def test_a_part_that_were_given_more_would_be_found_out(scene, monkeypatch):
    """The comparison is worth something only if it fails where table and server part ways."""
    money = permits.VIEWS | {"statement": permits.VIEWS["statement"] | {Role.AUTHOR}}
    assert extent(Role.AUTHOR, Thing.MONEY) == MEASURES[Thing.MONEY](Asking(scene, Role.AUTHOR)) == Extent.NONE
    monkeypatch.setattr(permits, "VIEWS", money)
    assert extent(Role.AUTHOR, Thing.MONEY) == Extent.FULL
    with pytest.raises(AssertionError, match="some of the money"):
        MEASURES[Thing.MONEY](Asking(scene, Role.AUTHOR))


@pytest.mark.parametrize("role", [Role.AUTHOR, Role.DESIGNER, Role.SALES, Role.READER])
def test_no_new_part_sees_money(role):
    assert extent(role, Thing.MONEY) == extent(role, Thing.LETTERS) == extent(role, Thing.DECIDE) == Extent.NONE


def test_things_seen_are_the_views(scene):
    assert Thing.MONEY in SEEN and Thing.DECIDE not in SEEN
