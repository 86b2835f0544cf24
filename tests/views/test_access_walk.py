"""Walk every address as everybody: signed out, as a stranger, and from every seat.

The expectations come from the access table, the addresses from the URLconf, so that an address or a role
cannot be forgotten. Bodies are read as well as statuses: words that only the publisher's side may see must
not stand in any answer to anyone else.
"""

from __future__ import annotations

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from reviews.actions import hand_ins, seats
from reviews.models import Letter
from reviews.rules.permits import VIEWS
from reviews.rules.states import Role
from tests.cast import sign_in
from tests.makers import draft, handed_in
from tests.views import access_world
from tests.views.access_world import (
    ADDRESSES,
    HELD,
    HOUSE_ONLY,
    PRIVATE,
    SENT,
    UNSENT,
    allowed_roles,
    ask,
    body_of,
    clients,
    close_file,
    is_posted,
    path_to,
)

pytestmark = pytest.mark.django_db
world = access_world.world


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
