"""A book in mid-review with a seat of every role, and every address there is: for walks as everybody."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from reviews.actions import derived, hand_ins, invoices, letters, notes, reading, seats
from reviews.actions.dates import ask_for_date
from reviews.actions.page_changes import change_pages
from reviews.actions.votes import open_vote
from reviews.models import Invitation, Letter, Seat, Spread
from reviews.queries.letters import letter_fingerprint
from reviews.rules.addresses import PAGES
from reviews.rules.contract.fees import Money
from reviews.rules.derived import Making
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.permits import PERMITS, VIEWS
from reviews.rules.states import Deed, Role
from tests.briefs import referred
from tests.cast import NAMES, Cast, gather, sign_in
from tests.makers import a_book, draft, handed_in
from tests.views.test_measured_proofs import judged

BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}
# Words that must never reach the illustrator, the agent or a guest.
UNSENT, HELD, FIRST_WORDING, ASIDE = "owlglass-unsent", "owlglass-held", "owlglass-first-wording", "owlglass-aside"
HOUSE_ONLY = (UNSENT, HELD, FIRST_WORDING, ASIDE)
SENT = "Let the tarn be wider."


@dataclass
class World:
    cast: Cast
    guest: Seat
    advisers: dict[Role, Seat]
    arguments: dict[str, Any]
    sent: dict[str, Any]


@pytest.fixture
def world() -> World:
    """A book in mid-review: a letter sent, another begun, notes in every state, a guest let in."""
    cast = gather(a_book())
    gone = Spread.objects.get(book=cast.book, label="Pages 12–13")
    change_pages(cast.book.pk, WantedPages(what=PageDeed.DROP, spread=gone.pk), "Too long.", actor=cast.art_director)
    passage = cast.passage("Cover", "ideas")
    begun = draft(passage, cast.illustrator, (1, 2))
    scans = [picture.pk for picture in begun.pictures.all()]
    derivation = derived.make_derived(begun.pk, Making.JOIN, scans, actor=cast.illustrator)
    handed = hand_ins.hand_in(begun.pk, actor=cast.illustrator)
    picture = handed.pictures.first()
    guest = cast.invite_guest(passage)
    advisers = cast.seat_advisers()
    (ask,) = reading.ask_to_read(
        cast.book.pk, advisers[Role.READER].pk, [passage.spread_id], "Is the weir right?", actor=cast.editor
    )
    other = cast.passage("Pages 4–5", "ideas")
    answered = handed_in(other, cast.illustrator, (3,))
    for words, weighing, rewording in (("x", "through", ""), (HELD, "held", ""), (FIRST_WORDING, "through", SENT)):
        note = notes.pin_note(
            other.pk, answered.pictures.first().pk, region=BOX, words=words, cause="direction", actor=cast.editor
        )
        notes.reply(note.pk, ASIDE, actor=cast.production)
        letters.weigh_note(note.pk, weighing=weighing, letter_words=rewording, actor=cast.art_director)
    letters.set_answer(other.pk, answer="ask", actor=cast.art_director)
    begun = Letter.objects.get(book=cast.book, sent_at=None)
    letters.send_letter(begun.pk, looked_at=letter_fingerprint(begun), actor=cast.art_director)
    unsent = notes.pin_note(
        passage.pk, picture.pk, region=BOX, words=UNSENT, cause="direction", actor=cast.art_director
    )
    letters.word_letter(cast.book.pk, UNSENT, actor=cast.art_director)
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    vote = open_vote(passage.pk, decider_id=cast.art_director.pk, actor=cast.art_director)
    invitation = seats.invite(
        cast.book.pk, email="new@thimblereed.example", name="New", role=Role.EDITOR, actor=cast.art_director
    )
    told = invoices.tell_invoice(
        cast.book.pk, number="J-1", name="", money=Money(Decimal(90), "GBP"), on=begun.begun_at.date(),
        actor=cast.illustrator,
    )  # fmt: skip
    paid = invoices.say_paid(told.pk, begun.begun_at.date(), actor=cast.art_director)
    spread = other.spread
    sketch = cast.passage("Cover", "sketch")
    to = sketch.due_on + timedelta(days=7)
    proposed = ask_for_date(sketch.pk, to=to, reason="The text came late.", actor=cast.illustrator)
    return World(
        cast,
        guest,
        advisers,
        {
            "book_id": cast.book.pk,
            "plan_id": spread.plan_id,
            "spread_id": spread.pk,
            "dropped_id": gone.pk,
            "left_id": spread.pk,
            "right_id": spread.pk,
            "passage_id": passage.pk,
            "hand_in_id": handed.pk,
            "picture_id": picture.pk,
            "note_id": unsent.pk,
            "letter_id": Letter.objects.get(book=cast.book, sent_at=None).pk,
            "invitation_id": invitation.pk,
            "seat_id": cast.production.pk,
            "invoice_id": told.pk,
            "payment_id": paid.pk,
            "answer_id": other.answers.get().pk,
            "secret": Invitation.objects.get(pk=invitation.pk).secret,
            "derivation_id": derivation.pk,
            "choice": "drop",
            "proposal_id": proposed.pk,
            "kind": "svg",
            "piece": "spread",
            "address": "0,0,512,256/512,256/0/default.jpg",
            "reference_id": referred(cast, passage).pk,
            "size": "thumb",
            "number": 1,
            "ending": "jpg",
            "ask_id": ask.pk,
            "proof_id": judged(cast).pk,
            "vote_id": vote.pk,
            "part": "editor",
        },
        sent={"note_id": other.notes.get(state="sent", letter_words=SENT).pk, "letter_id": begun.pk},
    )


def addresses() -> list[tuple[str, list[str]]]:
    """List (name, argument names) of every address in the URLconf."""
    found = []

    def walk(resolver: URLResolver) -> None:
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                walk(entry)
            elif isinstance(entry, URLPattern):
                found.append((str(entry.name), list(entry.pattern.converters)))

    walk(get_resolver())
    return found


ADDRESSES = addresses()
PRIVATE = [(name, words) for name, words in ADDRESSES if PAGES.get(name) not in {"public", "signed-in", "operator"}]


# What exists for everybody only once the letter went; the rest is walked with the letter being written.
ON_WHAT_WAS_SENT = {
    "reply", "answer-note", "place-note", "letter", "letter-paper", "paper-again",
    "take-back-letter", "edit-note", "withdraw-note", "restore-note", "weigh-note",
}  # fmt: skip


def path_to(name: str, words: list[str], world: World) -> str:
    given = world.arguments | (world.sent if name in ON_WHAT_WAS_SENT else {})
    return reverse(f"reviews:{name}", kwargs={word: given[word] for word in words})


def is_posted(name: str) -> bool:
    """Say whether an address is pressed, not looked at: the deeds, and asking for a picture as it would print."""
    return PAGES[name] in PERMITS or name in {"ask-soft-proof", "ask-seen-proof"}


def ask(client: Client, name: str, path: str):
    """Ask as a person would: deeds are posted, pages are looked at. Whatever it did is undone again."""
    point = transaction.savepoint()
    try:
        response = client.post(path) if is_posted(name) else client.get(path)
        close_file(response)
        return response
    finally:
        transaction.savepoint_rollback(point)


def close_file(response) -> None:
    """Read a streamed file to its end, which closes it, as the web server does."""
    if response.streaming:
        for _ in response.streaming_content:
            pass


def allowed_roles(name: str) -> frozenset[Role]:
    asks = PAGES[name]
    return PERMITS[asks][0] if isinstance(asks, Deed) else VIEWS[asks]


def body_of(response) -> str:
    if getattr(response, "streaming", False):
        return ""
    return response.content.decode("utf-8", "replace")


def clients(world: World) -> dict[Role, Client]:
    people = {role: world.cast.seat(role).person for role in NAMES} | {Role.GUEST: world.guest.person}
    people |= {role: seat.person for role, seat in world.advisers.items()}
    assert set(people) == set(Role)
    made = {}
    for role, person in people.items():
        made[role] = Client(raise_request_exception=False)
        sign_in(made[role], person)
    return made
