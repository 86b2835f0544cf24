"""The ledger is kept: the database refuses to change it, and a change made behind its back is found."""

import io
import json
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from reviews.models import HandIn, LedgerEntry, LedgerIsKept, Letter, Passage
from reviews.tasks.paper import paper_of
from tests.cast import gather
from tests.conftest import triggers_lifted
from tests.kept import scene
from tests.letter_scene import a_round
from tests.makers import a_book, handed_in
from tests.servers import ROOT

pytestmark = pytest.mark.django_db


@pytest.fixture
@scene
def cast():
    """A book with a round behind it and a hand-in waiting."""
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    a_round(cast, ideas, 1)
    handed_in(ideas, cast.illustrator, [2])
    return cast


def verify(*arguments) -> tuple[int, str]:
    """Run the command; return its exit code and what it said."""
    out = io.StringIO()
    try:
        call_command("verify_ledger", *arguments, stdout=out)
    except CommandError as fault:
        return fault.returncode, out.getvalue()
    return 0, out.getvalue()


def run(statement: str, *values) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def tamper(statement: str, *values) -> None:
    """Change the ledger as somebody with the database file in hand would."""
    with triggers_lifted():
        run(statement, *values)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE reviews_ledgerentry SET by = 'Nobody'",
        "DELETE FROM reviews_ledgerentry",
        # SQLite removes the row in the way of this one without asking the DELETE trigger.
        "INSERT OR REPLACE INTO reviews_ledgerentry "
        "SELECT id, seq, at, deed, role, 'Nobody', sight, data, previous, sha256, book_id, passage_id, seat_id, rows "
        "FROM reviews_ledgerentry WHERE seq = 2",
        "INSERT OR REPLACE INTO reviews_ledgerentry (seq, at, deed, role, by, sight, data, previous, sha256, book_id) "
        "SELECT seq, at, deed, role, 'Nobody', sight, data, previous, sha256, book_id FROM reviews_ledgerentry "
        "WHERE seq = 2",
    ],
)
def test_the_database_refuses_to_change_or_remove_an_entry(cast, statement):
    before = LedgerEntry.objects.count()
    with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
        run(statement)
    assert LedgerEntry.objects.count() == before
    assert not LedgerEntry.objects.filter(by="Nobody").exists()


def test_the_queryset_refuses_before_the_database_is_asked():
    with pytest.raises(LedgerIsKept):
        LedgerEntry.objects.update(by="Nobody")
    with pytest.raises(LedgerIsKept):
        LedgerEntry.objects.all().delete()


def test_a_row_saved_or_deleted_by_itself_is_refused_as_well(cast):
    entry = LedgerEntry.objects.first()
    entry.by = "Nobody"
    with pytest.raises(IntegrityError), transaction.atomic():
        entry.save()
    with pytest.raises((IntegrityError, LedgerIsKept)), transaction.atomic():
        entry.delete()


def test_a_whole_ledger_passes(cast):
    for paper in Letter.objects.filter(book=cast.book):
        paper_of(paper)
    n = cast.book.entries.count()
    code, said = verify("--files")
    assert code == 0
    assert said.startswith(f"Book {cast.book.pk}, {cast.book.title}: {n} entries, whole and in order.\n")
    assert "Read whole: 2 pictures and 1 letters on paper" in said
    # Without reading the files it must not be said that all is whole.
    code, said = verify()
    assert (code, "whole and in order" in said, "in order as far as was looked" in said) == (0, False, True)
    assert "Not read: the bytes of 2 pictures" in said
    assert verify(str(cast.book.pk))[0] == 0


def test_a_book_that_is_not_there_is_said_to_be_so(cast):
    assert verify(str(cast.book.pk + 1)) == (1, "")


@pytest.mark.parametrize(
    "change",
    [
        "by = 'Somebody Else'",
        "role = 'guest'",
        "at = '2026-01-01 00:00:00'",
        "sight = 'illustrator'",
        "deed = 'reply'",
        "seat_id = NULL",
    ],
)
def test_an_edited_entry_is_found(cast, change):
    entry = cast.book.entries.get(seq=5)
    tamper(f"UPDATE reviews_ledgerentry SET {change} WHERE id = %s", entry.pk)
    code, said = verify()
    assert code == 1
    assert "Entry 5: entry 5 was changed after it was written." in said


def test_edited_data_is_found(cast):
    letter = cast.book.entries.get(deed="send-letter")
    data = letter.data | {"answers": []}
    tamper("UPDATE reviews_ledgerentry SET data = %s WHERE id = %s", json.dumps(data), letter.pk)
    code, said = verify()
    assert code == 1
    assert f"entry {letter.seq} was changed" in said


def test_an_edit_that_also_mends_its_own_fingerprint_breaks_the_next_entry(cast):
    from reviews.rules.chain import fingerprint

    entry = cast.book.entries.get(seq=5)
    entry.by = "Somebody Else"
    mended = fingerprint(
        book=cast.book.pk, entry=entry.as_entry(), seat=entry.seat_id, sight=entry.sight, previous=entry.previous,
        rows=entry.rows,
    )  # fmt: skip
    tamper("UPDATE reviews_ledgerentry SET by = %s, sha256 = %s WHERE id = %s", entry.by, mended, entry.pk)
    code, said = verify()
    assert code == 1
    assert "Entry 6: entry 6 does not follow the entry before it." in said


def test_a_removed_entry_is_found(cast):
    tamper("DELETE FROM reviews_ledgerentry WHERE book_id = %s AND seq = 4", cast.book.pk)
    code, said = verify()
    assert code == 1
    assert "entry 4 is missing or out of order" in said


def test_removing_an_entry_and_closing_the_gap_is_found(cast):
    tamper("DELETE FROM reviews_ledgerentry WHERE book_id = %s AND seq = 4", cast.book.pk)
    tamper("UPDATE reviews_ledgerentry SET seq = seq - 1 WHERE book_id = %s AND seq > 4", cast.book.pk)
    assert verify()[0] == 1


def test_the_last_entry_cut_off_is_found_by_what_is_stored(cast):
    """The chain alone cannot tell: nothing follows the last entry."""
    last = cast.book.entries.order_by("seq").last()
    assert last.deed == "hand-in"
    tamper("DELETE FROM reviews_notice WHERE entry_id = %s", last.pk)
    tamper("DELETE FROM reviews_ledgerentry WHERE id = %s", last.pk)
    code, said = verify()
    assert code == 1
    assert "is not where its ledger leaves it" in said
    assert "has no entry in the ledger" in said


def test_reordered_entries_are_found(cast):
    for old, new in ((5, 9999), (6, 5), (9999, 6)):
        tamper("UPDATE reviews_ledgerentry SET seq = %s WHERE book_id = %s AND seq = %s", new, cast.book.pk, old)
    code, said = verify()
    assert code == 1
    assert "Entry 5: entry 5 does not follow the entry before it." in said


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (lambda cast: Passage.objects.filter(hand_in__number=2).update(due_on="2030-01-01"), "due_on is 2030-01-01"),
        (lambda cast: Passage.objects.filter(state="closed").update(state="passed"), "state is passed"),
        (lambda cast: Letter.objects.update(number=7), "tells of letter 1 where letter 7 is stored"),
        (
            lambda cast: HandIn.objects.get(number=2).pictures.update(sha256="0" * 64),
            "does not hold the pictures it was handed in with",
        ),
    ],
)
def test_stored_rows_that_the_ledger_did_not_make_are_found(cast, change, found):
    change(cast)
    code, said = verify()
    assert code == 1
    assert found in said


def test_one_books_fault_is_not_anothers(cast):
    other = gather(a_book(title="The Heron Who Would Not Wade"))
    tamper("UPDATE reviews_ledgerentry SET by = 'Nobody' WHERE book_id = %s AND seq = 2", cast.book.pk)
    assert verify(str(other.book.pk))[0] == 0
    assert verify(str(cast.book.pk))[0] == 1


@pytest.mark.servers
@pytest.mark.slow
def test_postgresql_keeps_the_ledger_and_lets_one_of_two_win(house):
    """The same deeds at the same moment on PostgreSQL, where transactions really run side by side."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.models.ledger_in_the_house"],
        cwd=ROOT, env=house.environment, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    assert told == {
        "update": "Ledger entries are never changed or deleted.",
        "delete": "Ledger entries are never changed or deleted.",
        "empty": "Ledger entries are never changed or deleted.",
        "hand in three times": ["already-handed-in", "already-handed-in", "done"],
        "send twice": ["done", "letter-sent"],
        "faults": [],
        "answered": [["approved", False]],
        "silent": [["approved", True]],
    }
