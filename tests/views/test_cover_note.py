"""The cover note is read by whoever looks at the hand-in: on the table, in the draft letter, mail and ledger."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions import hand_ins
from reviews.models import LedgerEntry, Notice
from reviews.notices.wording import mail_for
from reviews.rules.states import Deed
from tests.cast import gather, sign_in
from tests.makers import a_book, draft

pytestmark = pytest.mark.django_db

WORDS = "The ferns are opened.\nPlease look at the heron’s beak & leg."


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def passage(cast):
    return cast.passage("Pages 4–5", "ideas")


@pytest.fixture
def handed(cast, passage):
    return hand_ins.hand_in(draft(passage, cast.illustrator).pk, cover_note=WORDS, actor=cast.illustrator)


def read(client, seat, name, *args) -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse(f"reviews:{name}", args=args))
    assert answer.status_code == 200
    return answer.content.decode().replace("&amp;", "&")


@pytest.mark.parametrize("role", ["art_director", "editor", "agent", "production", "illustrator"])
def test_whoever_sees_the_pictures_reads_it_before_the_letter(client, cast, passage, handed, role):
    page = read(client, getattr(cast, role), "passage", passage.pk)
    assert WORDS in page
    assert page.index(WORDS) < page.index('class="sheet letter')


def test_it_stands_in_the_letter_being_written(client, cast, handed):
    assert WORDS in read(client, cast.art_director, "draft-letter", cast.book.pk)


def test_it_stands_in_the_ledger_and_in_the_mail(client, cast, handed):
    assert WORDS in read(client, cast.agent, "ledger", cast.book.pk)
    entry = LedgerEntry.objects.select_related("book").get(deed=Deed.HAND_IN)
    notice = Notice.objects.select_related("entry__book", "entry__passage", "person").get(
        entry=entry, person=cast.art_director.person
    )
    mail = mail_for(notice, paper=lambda letter: b"")
    assert WORDS in mail.text
    assert "heron’s beak &amp; leg" in mail.html


def test_a_draft_s_cover_note_is_nobody_elses_affair(client, cast, passage):
    made = draft(passage, cast.illustrator)
    hand_ins.word_hand_in(made.pk, WORDS, actor=cast.illustrator)
    for role in ("art_director", "editor", "agent", "production"):
        seat = getattr(cast, role)
        assert "ferns are opened" not in read(client, seat, "passage", passage.pk)
        assert "ferns are opened" not in read(client, seat, "ledger", cast.book.pk)


def test_a_guest_is_asked_for_one_vote_and_reads_no_note(client, cast, passage, handed):
    assert "ferns are opened" not in read(client, cast.invite_guest(passage), "passage", passage.pk)


def test_nothing_is_shown_where_nothing_was_written(client, cast, passage):
    hand_ins.hand_in(draft(passage, cast.illustrator).pk, cover_note="  ", actor=cast.illustrator)
    assert "Cover note" not in read(client, cast.art_director, "passage", passage.pk)
    assert "Cover note" not in read(client, cast.art_director, "ledger", cast.book.pk)


def test_a_line_of_before_it_was_kept_reads_as_it_did(client, cast, handed):
    from reviews.pages.wording.ledger import cover_note_of, sentence

    entry = LedgerEntry.objects.get(deed=Deed.HAND_IN).as_entry()
    del entry.data["cover_note"]
    assert cover_note_of(entry) == ""
    assert sentence(entry).startswith("Juniper Aldersea handed in number 1")
