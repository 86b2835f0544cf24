"""`manage.py hand_in`: the same act as on the web."""

from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command

from reviews.actions.seats import end_seat
from reviews.models import HandIn, LedgerEntry
from tests.actions.test_proofs import PLAN as WITH_PROOFS
from tests.cast import gather
from tests.letter_scene import approved
from tests.makers import a_book, a_jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def test_files_are_handed_in_in_order(cast, tmp_path, capsys):
    paths = []
    for seed in (1, 2):
        path = tmp_path / f"idea {seed}.jpg"
        path.write_bytes(a_jpeg(seed))
        paths.append(str(path))
    call_command("hand_in", cast.book.title, "4-5", "ideas", *paths, note="Two ways in.")
    handed = HandIn.objects.get(passage=cast.passage("Pages 4–5", "ideas"))
    assert (handed.number, handed.cover_note) == (1, "Two ways in.")
    assert [picture.file_name for picture in handed.pictures.all()] == ["idea 1.jpg", "idea 2.jpg"]
    assert "Handed in: number 1 of Pages 4–5, ideas." in capsys.readouterr().out
    assert LedgerEntry.objects.get(book=cast.book, deed="hand-in").by == "Juniper Aldersea"


@pytest.fixture
def at_proof():
    """A book whose spread waits for the printer."""
    there = gather(a_book(inside=WITH_PROOFS))
    approved(there, there.passage("Pages 4–5", "colour"), 1)
    return there


def proof_file(tmp_path) -> str:
    path = tmp_path / "proof.jpg"
    path.write_bytes(a_jpeg(5))
    return str(path)


def test_a_proof_is_handed_in_by_production(at_proof, tmp_path):
    call_command("hand_in", at_proof.book.title, "4-5", "proof", proof_file(tmp_path))
    handed = HandIn.objects.get(passage=at_proof.passage("Pages 4–5", "proof"))
    assert (handed.number, handed.by) == (1, at_proof.production)


def test_the_art_director_hands_in_a_proof_where_nobody_sits_at_production(at_proof, tmp_path):
    end_seat(at_proof.production.pk, actor=at_proof.art_director)
    call_command("hand_in", at_proof.book.title, "4-5", "proof", proof_file(tmp_path))
    assert HandIn.objects.get(passage__stage__kind="proof").by == at_proof.art_director


def test_an_illustrators_address_is_no_reason_to_hand_in_a_proof(at_proof, tmp_path):
    address = at_proof.illustrator.person.email
    with pytest.raises(CommandError, match="Production hands in what the printer made"):
        call_command("hand_in", at_proof.book.title, "4-5", "proof", proof_file(tmp_path), email=address)
    assert not HandIn.objects.filter(passage__stage__kind="proof").exists()


def test_a_refused_file_keeps_the_others_in_the_draft(cast, tmp_path):
    good, wrong = tmp_path / "good.jpg", tmp_path / "wrong.jpg"
    good.write_bytes(a_jpeg(1))
    wrong.write_bytes(b"only words")
    with pytest.raises(CommandError, match=r"wrong\.jpg"):
        call_command("hand_in", str(cast.book.pk), "cover", "ideas", str(good), str(wrong))
    assert HandIn.objects.get(passage=cast.passage("Cover", "ideas")).number is None


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("No such book", "cover", "ideas"), "There is no book"),
        (("1", "5-6", "ideas"), "has no spread"),
        (("1", "cover", "scribble"), "There is no stage"),
        (("1", "4-5", "proof"), "has no stage"),
    ],
)
def test_what_does_not_exist_is_said_with_what_does(cast, words, sentence, tmp_path):
    book = str(cast.book.pk) if words[0] == "1" else words[0]
    with pytest.raises(CommandError, match=sentence):
        call_command("hand_in", book, *words[1:], str(tmp_path / "x.jpg"))
