"""Whoever leaves a book keeps what they made and what concerned them, and nobody can take it from them."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

import pytest
from django.test import Client
from django.urls import reverse

from reviews import jobs
from reviews.actions import hand_ins, notes, seats
from reviews.actions.own_account import choose_mail
from reviews.models import Job, Letter, Notice, Picture
from reviews.notices.wording import mail_for
from reviews.pages.letter_pages import letter_page
from reviews.rules.mailing import MailChoice
from reviews.rules.states import Role
from reviews.tasks.paper import paper_of
from tests.briefs import referred, written
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, a_jpeg, draft, handed_in
from tests.texts import a_text_block, placed

pytestmark = pytest.mark.django_db
AFTERWARDS = "Said when she had gone."


@pytest.fixture
def cast():
    """Juniper has had a letter, handed in again, left a draft, and her seat ended; then more happened."""
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    letter = a_round(cast, ideas, 1)
    paper_of(Letter.objects.get(pk=letter.pk))
    handed_in(ideas, cast.illustrator, [2])
    draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [3])
    withdrawn = handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [4])
    hand_ins.withdraw_hand_in(withdrawn.pk, "The wrong file.", actor=cast.illustrator)
    seats.end_seat(cast.illustrator.pk, actor=cast.agent)
    note = letter.notes.filter(state="sent").first()
    notes.reply(note.pk, AFTERWARDS, actor=cast.art_director)
    pinned(ideas, cast.editor)
    return cast


@pytest.fixture
def hers(cast) -> Client:
    client = Client()
    sign_in(client, cast.illustrator.person)
    return client


def at(cast, name="farewell", *more):
    return reverse(f"reviews:{name}", args=[cast.book.pk, *more])


def archive(client, cast) -> zipfile.ZipFile:
    answer = client.get(at(cast, "farewell-archive"))
    assert answer.status_code == 200 and answer["Content-Type"] == "application/zip"
    return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))


def test_the_book_is_gone_and_the_farewell_is_there(cast, hers):
    assert hers.get(reverse("reviews:book-map", args=[cast.book.pk])).status_code == 404
    page = hers.get(at(cast))
    text = page.content.decode()
    assert page.status_code == 200
    assert "Letter 1" in text and "idea 2.jpg" in text and "sent letter 1" in text
    assert AFTERWARDS not in text and "replied" not in text
    assert "the signed contract" in text
    assert at(cast) in hers.get("/").content.decode(), "the desk leads to it"


def test_the_archive_holds_every_original_letter_ledger_and_statement(cast, hers):
    kept = archive(hers, cast)
    assert kept.testzip() is None
    names = kept.namelist()
    originals = {hashlib.sha256(kept.read(name)).hexdigest() for name in names if name.startswith("originals/")}
    made = {hashlib.sha256(a_jpeg(seed)).hexdigest() for seed in (1, 2, 3, 4)}
    assert originals >= made - {hashlib.sha256(a_jpeg(1)).hexdigest()}
    assert originals == set(Picture.objects.filter(hand_in__by=cast.illustrator).values_list("sha256", flat=True))
    letter = Letter.objects.get()
    words = kept.read("letters/letter 1.txt").decode()
    stand = letter_page(letter, Role.ILLUSTRATOR).stand
    assert str(stand) in words and letter.notes.filter(state="sent").first().said in words
    assert AFTERWARDS not in words
    assert kept.read("letters/letter 1.pdf").startswith(b"%PDF")
    assert kept.read("statement.pdf").startswith(b"%PDF")
    assert json.loads(kept.read("statement.json"))["ledger_stands_at"]["code"] in kept.read("ledger.txt").decode()
    for line in kept.read("fingerprints.txt").decode().splitlines():
        sha256, _, name = line.partition("  ")
        assert hashlib.sha256(kept.read(name)).hexdigest() == sha256
    assert len(kept.read("fingerprints.txt").decode().splitlines()) == len(names) - 1


def test_the_archive_of_an_agent_has_the_letters_and_the_figures_and_no_pictures(cast):
    seats.end_seat(cast.agent.pk, actor=cast.agent)
    client = Client()
    sign_in(client, cast.agent.person)
    names = archive(client, cast).namelist()
    assert {"letters/letter 1.txt", "ledger.txt", "statement.pdf"} <= set(names)
    assert not [name for name in names if name.startswith("originals/")]


def test_single_files_can_be_fetched_and_only_ones_own(cast, hers):
    own = Picture.objects.filter(hand_in__by=cast.illustrator).first()
    answer = hers.get(at(cast, "farewell-original", own.pk))
    assert hashlib.sha256(b"".join(answer.streaming_content)).hexdigest() == own.sha256
    letter = Letter.objects.get()
    answer = hers.get(at(cast, "farewell-letter", letter.pk))
    assert b"".join(answer.streaming_content).startswith(b"%PDF")
    assert hers.get(at(cast, "farewell-original", 999_999)).status_code == 404
    assert hers.get(at(cast, "farewell-letter", 999_999)).status_code == 404


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.AGENT, None])
def test_for_everybody_else_there_is_no_such_page(cast, role):
    client = Client()
    sign_in(client, cast.seat(role).person if role else cast.stranger)
    paths = at(cast), at(cast, "farewell-archive"), at(cast, "farewell-original", 1), at(cast, "farewell-letter", 1)
    assert [client.get(path).status_code for path in paths] == [404] * 4


def test_it_is_offered_at_once_by_mail_with_the_code_of_that_line(cast):
    notice = Notice.objects.get(person=cast.illustrator.person, entry__deed="end-seat")
    assert Job.objects.filter(kind=jobs.MAIL, subject_id=notice.pk).exists()
    mail = mail_for(notice, paper_of)
    assert mail is not None and mail.to == cast.illustrator.person.email
    assert at(cast) in mail.text and at(cast, "farewell-archive") in mail.text
    assert "of the ledger" in mail.text


def test_nobody_who_wants_no_mail_is_written_to(cast):
    choose_mail(cast.agent.person, MailChoice.NONE)
    cast.agent.person.refresh_from_db()
    seats.end_seat(cast.agent.pk, actor=cast.agent)
    told = Notice.objects.filter(person=cast.agent.person, entry__deed="end-seat")
    assert not told.filter(entry__data__role="agent").exists()


def test_a_guest_keeps_nothing(cast):
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    seats.end_seat(guest.pk, actor=cast.art_director)
    client = Client()
    sign_in(client, guest.person)
    assert client.get(at(cast)).status_code == 404
    assert not Notice.objects.filter(person=guest.person).exists()


def test_whoever_comes_back_has_the_book_again_and_no_farewell(cast, hers):
    offer = seats.invite(
        cast.book.pk, email=cast.illustrator.person.email, name="Juniper", role=Role.ILLUSTRATOR, actor=cast.agent
    )
    seats.take_seat(offer.secret, person=cast.illustrator.person)
    assert hers.get(at(cast)).status_code == 404
    assert hers.get(reverse("reviews:book-map", args=[cast.book.pk])).status_code == 200


def test_whoever_left_can_still_check_the_codes_of_their_letters(cast, hers):
    stand = str(letter_page(Letter.objects.get(), Role.ILLUSTRATOR).stand)
    assert "agrees: everything up to it" in hers.get(at(cast), {"codes": stand}).content.decode()
    wrong = stand.partition(",")[0] + ", code ABCD-EFGH-IJKL-MNOP"
    page = hers.get(at(cast), {"codes": wrong}).content.decode()
    assert "does not agree" in page and "agrees: everything" not in page


def test_what_was_asked_until_then_is_kept_and_what_came_later_is_not_told(client):
    there = gather(a_book())
    ideas = there.passage("Pages 4–5", "ideas")
    written(there, palette="No orange.")
    written(there, ideas, art="The tarn is wide.")
    reference = referred(there, ideas)
    seats.end_seat(there.illustrator.pk, actor=there.agent)
    written(there, ideas, art="The tarn is narrow.")
    referred(there, ideas, seed=8)
    sign_in(client, there.illustrator.person)
    page = client.get(at(there)).content.decode()
    told = archive(client, there).read("briefs.txt").decode()
    for words in ("No orange.", "The tarn is wide.", "Pages 4–5, version 1", "The whole book, version 1"):
        assert words in page
        assert words in told
    assert "The tarn is narrow." not in page + told
    assert told.count(reference.file_name) == 1, "what was put there afterwards is not told"


def test_the_words_placed_on_the_pages_until_then_are_kept_and_no_later_ones(client):
    there = gather(a_book())
    ideas = there.passage("Pages 4–5", "ideas")
    placed(ideas, actor=there.editor)
    placed(ideas, a_text_block(number=1, left_mm=24.0, words="Hush, said the wide tarn."), actor=there.editor)
    seats.end_seat(there.illustrator.pk, actor=there.agent)
    placed(ideas, a_text_block(number=1, words="Quiet now."), actor=there.editor)
    sign_in(client, there.illustrator.person)
    page = " ".join(client.get(at(there)).content.decode().split())
    told = archive(client, there).read("texts.txt").decode()
    for words in ("Hush, said the tarn.", "Hush, said the wide tarn.", "Pages 4–5, version 2", "24 mm from the left"):
        assert words in page and words in told
    assert "other words in block 1; block 1 moved (by 4 mm at most)." in told
    assert "Quiet now." not in page + told and "version 3" not in page + told


def test_where_nothing_was_asked_there_is_no_brief_to_keep(hers, cast):
    assert not {"briefs.txt", "texts.txt"} & set(archive(hers, cast).namelist())
    assert "kept-briefs" not in hers.get(at(cast)).content.decode()
