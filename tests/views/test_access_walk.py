"""Walk every address as everybody: signed out, as a stranger, and from every seat.

The expectations come from the access table, the addresses from the URLconf, so that an address or a role
cannot be forgotten. Bodies are read as well as statuses: words that only the publisher's side may see must
not stand in any answer to anyone else.
"""

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

pytestmark = pytest.mark.django_db

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


def test_signed_out_nothing_opens(world):
    client = Client()
    for name, words in PRIVATE:
        response = ask(client, name, path_to(name, words, world))
        assert response.status_code == 302, name
        assert response.url.startswith(reverse("reviews:sign-in")), name


def test_a_stranger_is_told_nothing(world):
    client = Client()
    sign_in(client, world.cast.stranger)
    for name, words in PRIVATE:
        response = ask(client, name, path_to(name, words, world))
        assert response.status_code == 404, name
        assert world.cast.book.title not in body_of(response), name


def test_every_seat_gets_exactly_what_the_table_gives_it(world):
    wrong = []
    for role, client in clients(world).items():
        for name, words in PRIVATE:
            status = ask(client, name, path_to(name, words, world)).status_code
            secret = is_secret(role, name)
            may = role in allowed_roles(name) and (role, name) not in _OWN_ONLY and not secret
            refusal = 404 if secret else 403
            if (
                status >= 500
                or (may and status in (403, 404) and name not in _NOT_MADE)
                or (not may and status != refusal)
            ):
                wrong.append((role.value, name, "may" if may else "may not", status))
    assert not wrong, "\n".join(map(str, wrong))


def is_secret(role: Role, name: str) -> bool:
    """Say whether a role must not even learn that the thing of this walk is there: the letter being written, for
    whoever reads no letters every one of them, for who knows their own notes only every other."""
    if name == "send-letter":
        return role not in VIEWS["draft-letter"]
    _, words = next(each for each in PRIVATE if each[0] == name)
    hidden = {"letter_id"} if role not in VIEWS["letters"] else set()
    # What lies on a passage that a part sees nothing of is not there for them.
    hidden |= {"vote_id"} if role not in VIEWS["votes"] else set()
    hidden |= {"invoice_id", "payment_id", "answer_id"} if role not in VIEWS["statement"] else set()
    return bool(hidden & set(words)) or is_anothers(role, words)


def is_anothers(role: Role, words: list[str]) -> bool:
    """Say whether the note of this walk, the art director's or the editor's, is nobody's business of this role."""
    return "note_id" in words and role not in VIEWS["sent-notes"]


# The test's pictures were never rendered, and the draft letter has no paper: for those with the right these are
# "not there yet", which is what 404 says. Everybody else must get 403 all the same.
# Each side takes back its own invitations and ends its own seats; those of this walk are the publisher's.
_OWN_ONLY = {(role, name) for role in (Role.ILLUSTRATOR, Role.AGENT) for name in ("revoke-invitation", "end-seat")} | {
    # The passage of this walk is at its ideas, which are the illustrator's to gather; a proof is not.
    (role, name)
    for role in (Role.PRODUCTION, Role.ART_DIRECTOR)
    for name in ("draft-hand-in", "check-draft")
}
_NOT_MADE = {
    "reference-preview",
    "picture-mini",
    "picture-plate",
    "seen-proof-sheet",
    "soft-proof-file",
    "picture-preview",
    "picture-thumb",
    "picture-tile",
    "letter-paper",
}


def test_a_page_is_not_posted_to_and_a_deed_is_not_looked_at(world):
    client = clients(world)[Role.ART_DIRECTOR]
    both = {"new-book", "change-book", "send-letter"}
    for name, words in PRIVATE:
        if name in both:
            continue
        path = path_to(name, words, world)
        point = transaction.savepoint()
        status = (client.get if is_posted(name) else client.post)(path).status_code
        transaction.savepoint_rollback(point)
        assert status in (403, 405), (name, status)


@pytest.mark.slow
@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.GUEST, Role.AUTHOR, Role.SALES, Role.READER])
def test_house_words_stand_in_no_answer_to_the_other_side(world, role):
    client = clients(world)[role]
    sent = Letter.objects.get(book=world.cast.book, sent_at__isnull=False)
    others = {"passage_id": world.cast.passage("Pages 4–5", "ideas").pk, "letter_id": sent.pk}
    for arguments, only in ((world.arguments, None), (world.arguments | others, set(others))):
        for name, words in ADDRESSES:
            if only is not None and not only & set(words):
                continue  # the same address as before
            path = reverse(f"reviews:{name}", kwargs={word: arguments[word] for word in words})
            for headers in ({}, {"HTTP_ACCEPT": "application/json"}):
                point = transaction.savepoint()
                for response in (client.get(path, **headers), client.post(path, **headers)):
                    text = body_of(response)
                    close_file(response)
                    assert not [word for word in HOUSE_ONLY if word in text], (name, headers)
                transaction.savepoint_rollback(point)
                if name == "sign-out":
                    client = clients(world)[role]


def test_the_same_walk_does_find_the_words_on_the_publishers_side(world):
    """The check above is worth something only if those words really are on those pages."""
    client = clients(world)[Role.ART_DIRECTOR]
    page = client.get(reverse("reviews:passage", args=[world.arguments["passage_id"]]))
    assert UNSENT in body_of(page)
    other = world.cast.passage("Pages 4–5", "ideas")
    assert HELD in body_of(client.get(reverse("reviews:passage", args=[other.pk])))


def test_the_illustrator_reads_the_sent_wording(world):
    client = clients(world)[Role.ILLUSTRATOR]
    other = world.cast.passage("Pages 4–5", "ideas")
    assert SENT in body_of(client.get(reverse("reviews:passage", args=[other.pk])))


def test_a_draft_exists_for_its_illustrator_only(world):
    made = draft(world.cast.passage("Pages 6–7", "ideas"), world.cast.illustrator, (5,))
    path = reverse("reviews:picture-state", args=[made.pictures.get().pk])
    for role, client in clients(world).items():
        assert client.get(path).status_code == (200 if role == Role.ILLUSTRATOR else 404), role


def test_a_guest_cannot_count_what_lies_beside_the_one_passage(world):
    """A number that stands for something and one that stands for nothing are answered alike."""
    client = clients(world)[Role.GUEST]
    other = world.cast.passage("Pages 4–5", "ideas")
    handed = other.hand_ins.get()
    for name, pk in (
        ("picture-state", handed.pictures.get().pk), ("picture-original", handed.pictures.get().pk),
        ("reply", world.sent["note_id"]), ("letter", world.sent["letter_id"]),
    ):  # fmt: skip
        for number in (pk, 999_999):
            path = reverse(f"reviews:{name}", args=[number])
            answer = client.post(path) if name == "reply" else client.get(path)
            assert answer.status_code == 404, (name, number)


@pytest.mark.parametrize("role", [role for role in Role if role not in VIEWS["draft-letter"]])
def test_nobody_can_read_from_a_number_that_a_letter_is_being_written(world, role):
    client = clients(world)[role]
    for number in (world.arguments["letter_id"], 999_999):
        for name in ("letter", "letter-paper", "send-letter"):
            assert client.get(reverse(f"reviews:{name}", args=[number])).status_code == 404, (name, number)
    assert (
        clients(world)[Role.EDITOR].get(reverse("reviews:letter", args=[world.arguments["letter_id"]])).status_code
        == 302
    )


def test_what_was_taken_back_is_gone_for_everybody_but_its_illustrator(world):
    passage = world.cast.passage("Pages 6–7", "ideas")
    handed = handed_in(passage, world.cast.illustrator, (5,))
    paths = [
        reverse(f"reviews:{name}", args=[handed.pictures.get().pk]) for name in ("picture-state", "picture-original")
    ]
    agent = clients(world)[Role.AGENT]
    assert [ask(agent, "picture-state", path).status_code for path in paths] == [200, 200]
    hand_ins.withdraw_hand_in(handed.pk, "The wrong file.", actor=world.cast.illustrator)
    for role, client in clients(world).items():
        found = {ask(client, "picture-state", path).status_code for path in paths}
        assert found == ({200} if role == Role.ILLUSTRATOR else {404}), role


def test_a_guest_sees_nothing_beyond_the_one_passage(world):
    client = clients(world)[Role.GUEST]
    other = world.cast.passage("Pages 4–5", "ideas")
    assert client.get(reverse("reviews:passage", args=[world.arguments["passage_id"]])).status_code == 200
    assert client.get(reverse("reviews:passage", args=[other.pk])).status_code == 404


def test_a_seat_that_ended_is_a_stranger_at_once(world):
    client = clients(world)[Role.PRODUCTION]
    path = reverse("reviews:book-map", args=[world.cast.book.pk])
    assert client.get(path).status_code == 200
    seats.end_seat(world.cast.production.pk, actor=world.cast.art_director)
    assert client.get(path).status_code == 404
