"""Asking an author or an expert reader: what they then see, note and are told, and what nobody else is."""

from __future__ import annotations

import pytest
from django.core import mail
from django.urls import reverse

from reviews.actions import notes, reading
from reviews.models import LedgerEntry, Letter, Note, Notice
from reviews.notices.wording import mail_for
from reviews.pages.desk import desk_of
from reviews.pages.letter_pages import letter_page
from reviews.queries.reading import asks_of
from reviews.rules.states import Deed, NoteState, Refused, Role
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import BOX, answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
QUESTION = "Does a dormouse sit up like this?"


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.fixture
def advisers(cast):
    return cast.seat_advisers()


@pytest.fixture
def spread(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, (1,))
    passage.refresh_from_db()
    return passage


def ask(cast, seat, *passages, words=QUESTION, actor=None):
    return reading.ask_to_read(
        cast.book.pk, seat.pk, [passage.spread_id for passage in passages], words, actor=actor or cast.editor
    )


def test_an_expert_reader_sees_a_spread_from_the_ask_until_it_ends(client, cast, advisers, spread):
    sign_in(client, advisers[Role.READER].person)
    page = reverse("reviews:passage", args=[spread.pk])
    assert client.get(page).status_code == 404
    (asked,) = ask(cast, advisers[Role.READER], spread)
    shown = client.get(page)
    assert shown.status_code == 200
    assert QUESTION in shown.content.decode()
    reading.stop_asking(asked.pk, actor=cast.art_director)
    assert client.get(page).status_code == 404


def test_the_one_who_is_asked_is_written_to_and_no_other_reader(cast, advisers, spread):
    ask(cast, advisers[Role.READER], spread)
    told = Notice.objects.select_related("entry__book", "entry__passage", "person").filter(entry__deed=Deed.ASK_TO_READ)
    assert [notice.person for notice in told] == [advisers[Role.READER].person]
    written = mail_for(told.get(), lambda letter: b"")
    assert QUESTION in written.text and "Pages 4–5" in written.subject
    assert mail.outbox == []


def test_whom_the_publisher_asks_is_not_the_illustrators_to_read(client, cast, advisers, spread):
    ask(cast, advisers[Role.READER], spread)
    for seat in (cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        for name in ("ledger", "seats"):
            assert QUESTION not in client.get(reverse(f"reviews:{name}", args=[cast.book.pk])).content.decode()
    sign_in(client, cast.editor.person)
    assert QUESTION in client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()


@pytest.mark.parametrize("role", [Role.AUTHOR, Role.READER])
def test_a_note_is_the_houses_until_the_art_director_takes_it_over(client, cast, advisers, spread, role):
    ask(cast, advisers[role], spread)
    note = pinned(spread, advisers[role], "That is no dormouse.")
    sign_in(client, cast.illustrator.person)
    table = reverse("reviews:passage", args=[spread.pk])
    assert "no dormouse" not in client.get(table).content.decode()
    answered(cast, spread, "ask")
    sent(cast)
    note.refresh_from_db()
    assert note.state == NoteState.SENT
    shown = client.get(table).content.decode()
    assert "no dormouse" in shown
    assert advisers[role].person.name not in shown, "who said it stays the publisher's"
    page = letter_page(Letter.objects.get(number=1), Role.ILLUSTRATOR)
    assert [one.row.said for one in page.notes] == ["That is no dormouse."]


def test_advisers_read_nobodys_notes_but_their_own(client, cast, advisers, spread):
    ask(cast, advisers[Role.READER], spread)
    pinned(spread, cast.editor, "owlglass-house")
    pinned(spread, advisers[Role.AUTHOR], "kingcup-author", region={"kind": "point", "points": [[0.5, 0.5]]})
    pinned(spread, advisers[Role.READER], "sorrel-reader", region={"kind": "point", "points": [[0.6, 0.5]]})
    own = {Role.AUTHOR: "kingcup-author", Role.READER: "sorrel-reader"}
    for role, seat in advisers.items():
        if role == Role.SALES:
            continue
        sign_in(client, seat.person)
        shown = client.get(reverse("reviews:passage", args=[spread.pk])).content.decode()
        words = {"owlglass-house", "kingcup-author", "sorrel-reader"}
        assert {word for word in words if word in shown} == ({own[role]} if role in own else words)


@pytest.mark.parametrize("role", [Role.AUTHOR, Role.READER, Role.SALES])
def test_an_adviser_cannot_change_or_answer_what_others_wrote(client, cast, advisers, spread, role):
    ask(cast, advisers[Role.READER], spread)
    note = pinned(spread, cast.editor)
    sign_in(client, advisers[role].person)
    for name in ("edit-note", "withdraw-note", "restore-note", "reply", "weigh-note", "answer-note", "place-note"):
        status = client.post(reverse(f"reviews:{name}", args=[note.pk]), {"words": "x", "cause": "direction"})
        assert status.status_code == 404, name
    note.refresh_from_db()
    assert (note.words, note.state) == ("Turn her head.", NoteState.UNSENT)


def test_behind_the_pages_a_reader_can_note_nothing_beside_what_is_asked(cast, advisers, spread):
    with pytest.raises(Refused, match="not-yours"):
        notes.pin_note(
            spread.pk, spread.hand_in.pictures.get().pk, region=BOX, words="x", cause="direction",
            actor=advisers[Role.READER],
        )  # fmt: skip
    assert not Note.objects.exists()


def test_sales_mark_options_of_the_cover_alone(cast, advisers, spread):
    cover = cast.passage("Cover", "ideas")
    handed = handed_in(cover, cast.illustrator, (2, 3))
    notes.mark_option(handed.pictures.first().pk, verdict="this", actor=advisers[Role.SALES])
    with pytest.raises(Refused, match="not-yours"):
        notes.mark_option(spread.hand_in.pictures.get().pk, verdict="this", actor=advisers[Role.SALES])


def test_sales_see_no_version_that_is_not_approved(client, cast, advisers, spread):
    sign_in(client, advisers[Role.SALES].person)
    first = spread.hand_in.pictures.get()
    table, picture = reverse("reviews:passage", args=[spread.pk]), reverse("reviews:picture-state", args=[first.pk])
    assert [client.get(path).status_code for path in (table, picture)] == [404, 404]
    answered(cast, spread, "approve")
    sent(cast)
    assert [client.get(path).status_code for path in (table, picture)] == [200, 200]
    assert f"passages/{spread.pk}/" in client.get(reverse("reviews:book-map", args=[cast.book.pk])).content.decode()


def test_the_desk_asks_each_what_they_are_here_for(cast, advisers, spread):
    def asked(role):
        return [(one.words, one.pieces[0].label) for one in desk_of(advisers[role].person).mine]

    assert {role: asked(role) for role in advisers} == {
        Role.AUTHOR: [],
        Role.READER: [],
        Role.SALES: [],
        Role.DESIGNER: [("Check the ideas against the layout", "Pages 4–5")],
    }
    ask(cast, advisers[Role.READER], spread)
    assert asked(Role.READER) == [("Read the ideas you are asked about", "Pages 4–5")]
    notes.look_over(spread.pk, actor=advisers[Role.READER])
    assert asked(Role.READER) == []
    assert [one.looked_at for one in asks_of(cast.book)] == [1]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"words": " "}, "ask-needs-words"),
        ({"words": "x" * 601}, "ask-too-long"),
        ({"spreads": []}, "ask-names-no-spread"),
        ({"spreads": [999_999]}, "ask-names-no-spread"),
        ({"role": Role.SALES}, "nobody-to-ask"),
        ({"role": Role.DESIGNER}, "nobody-to-ask"),
    ],
)
def test_an_ask_that_makes_no_sense_is_refused(cast, advisers, spread, change, code):
    seat = advisers[change.get("role", Role.READER)]
    with pytest.raises(Refused, match=code):
        reading.ask_to_read(
            cast.book.pk, seat.pk, change.get("spreads", [spread.spread_id]), change.get("words", QUESTION),
            actor=cast.editor,
        )  # fmt: skip
    assert not LedgerEntry.objects.filter(deed=Deed.ASK_TO_READ).exists()


def test_asking_the_same_twice_is_refused_and_stopping_twice_too(cast, advisers, spread):
    (asked,) = ask(cast, advisers[Role.READER], spread)
    with pytest.raises(Refused, match="asked-already"):
        ask(cast, advisers[Role.READER], spread)
    reading.stop_asking(asked.pk, actor=cast.editor)
    with pytest.raises(Refused, match="ask-has-ended"):
        reading.stop_asking(asked.pk, actor=cast.editor)


def test_asking_through_the_page(client, cast, advisers, spread):
    sign_in(client, cast.art_director.person)
    path = reverse("reviews:ask-to-read", args=[cast.book.pk])
    data = {"reader": advisers[Role.AUTHOR].pk, "spreads": [spread.spread_id], "words": QUESTION}
    assert client.post(path, data | {"words": ""}).status_code == 422
    done = client.post(path, data, follow=True).content.decode()
    assert "Ottoline Grebe is asked about Pages 4–5" in done
    assert "No answer yet" in done
    note = pinned(spread, advisers[Role.AUTHOR])
    page = reverse("reviews:seats", args=[cast.book.pk])
    assert "1 note" in client.get(page).content.decode()
    notes.withdraw_note(note.pk, actor=advisers[Role.AUTHOR])
    assert "No answer yet" in client.get(page).content.decode()
