"""The ledger holds the words: whatever a person may rely on is found changed, and named, when the rows are changed."""

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.storage import default_storage

from reviews import storage
from reviews.actions import hand_ins, letters, notes, seats, second_voice
from reviews.models import LedgerEntry, Letter, Note, Seat
from reviews.pages.wording.ledger import sentence
from reviews.queries.codes import checked
from reviews.queries.held_check import check_held
from reviews.queries.held_rows import KINDS
from reviews.queries.letters import letter_fingerprint
from reviews.queries.line_names import last_stand, names_of
from reviews.rules.chain import fingerprint
from reviews.rules.codes import code_of
from reviews.rules.contract.plans import READY_PLANS
from reviews.rules.states import Deed, Role, StageKind
from tests.cast import gather
from tests.conftest import triggers_lifted
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, handed_in
from tests.models.test_ledger import run, tamper, verify

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """A letter answered note by note, a reply, a mark, an agreement, a withdrawn hand-in."""
    voices = [replace(stage, two_voices=stage.kind == StageKind.IDEAS) for stage in READY_PLANS["cover"].stages]
    cast = gather(a_book(cover=voices))
    ideas, cover = cast.passage("Pages 4–5", "ideas"), cast.passage("Cover", "ideas")
    letter = a_round(cast, ideas, 1)
    note = letter.notes.filter(state="sent").first()
    notes.reply(note.pk, "As large as the moon.", actor=cast.art_director)
    notes.answer_note(note.pk, response="not_done", words="The moon is behind her.", actor=cast.illustrator)
    options = handed_in(cover, cast.illustrator, [5, 6])
    notes.mark_option(options.pictures.first().pk, verdict="this", why="The moon.", actor=cast.editor)
    second_voice.agree(options.pk, actor=cast.editor)
    mistaken = handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [7])
    hand_ins.withdraw_hand_in(mistaken.pk, "The wrong file.", actor=cast.illustrator)
    pinned(cover, cast.editor, "Owls have no ears.")
    return cast


def test_nothing_is_found_where_nothing_was_changed(cast):
    check = check_held(cast.book)
    assert check.faults == [] and not check.unheld
    words = {"note", "reply", "mark", "agreement", "letter", "answer", "hand-in", "picture", "seat"}
    assert words <= set(check.compared)


CHANGES = [
    ("UPDATE reviews_note SET words = 'Forged.' WHERE state = 'sent'", "Note", "words is “Forged.”"),
    ("UPDATE reviews_note SET words = 'Forged.' WHERE state = 'unsent'", "Note", "says “Owls have no ears.”"),
    ("UPDATE reviews_note SET letter_words = 'Forged.' WHERE state = 'sent'", "Note", "letter words is “Forged.”"),
    ("UPDATE reviews_note SET cause = 'text' WHERE state = 'sent'", "Note", "cause is “text”"),
    ("UPDATE reviews_note SET response = 'done' WHERE state = 'sent'", "Note", "says “not_done”"),
    ("UPDATE reviews_note SET response_words = '' WHERE state = 'sent'", "Note", "says “The moon is behind her.”"),
    ("UPDATE reviews_note SET region = '{\"kind\": \"point\"}' WHERE state = 'sent'", "Note", "region is"),
    ("UPDATE reviews_letter SET words = 'Forged.'", "Letter", "words is “Forged.”"),
    ("UPDATE reviews_letter SET sent_at = '2026-01-01 00:00:00'", "Letter", "sent at is “2026-01-01"),
    ("UPDATE reviews_letteranswer SET answer = 'approve'", "Answer", "says “ask”"),
    ("UPDATE reviews_reply SET words = 'Forged.'", "Reply", "says “As large as the moon.”"),
    ("UPDATE reviews_optionmark SET verdict = 'not_this'", "Mark", "verdict is “not_this”"),
    ("UPDATE reviews_agreement SET agrees = 0", "Agreement", "agrees is False"),
    ("UPDATE reviews_handin SET cover_note = 'Forged.' WHERE number = 1", "Hand-in", "cover note is “Forged.”"),
    ("UPDATE reviews_handin SET withdrawn_because = 'Bored.' WHERE state = 'withdrawn'", "Hand-in", "says “The wrong"),
    ("UPDATE reviews_picture SET file_name = 'forged.jpg'", "Picture", "file name is “forged.jpg”"),
    ("UPDATE reviews_picture SET reason_code = 'damaged'", "Picture", "reason code is “damaged”"),
    ("UPDATE reviews_picture SET reason_values = '{\"n\": 3}'", "Picture", "reason values is {'n': 3}"),
    ("UPDATE reviews_seat SET role = 'production' WHERE role = 'agent'", "Seat", "says “agent”"),
    ("UPDATE reviews_seat SET ended_at = '2026-01-01 00:00:00' WHERE role = 'agent'", "Seat", "ended at is"),
    ("UPDATE reviews_passage SET held_since = '2026-01-01 00:00:00'", "Passage", "held since is"),
    ("UPDATE reviews_passage SET approved_at = '2026-01-01 00:00:00'", "Passage", "approved at is"),
    ("UPDATE reviews_book SET final_on = '2030-01-01'", "Book", "final on is “2030-01-01”"),
    ("UPDATE reviews_stage SET rounds = 9", "Stage", "rounds is 9"),
    ("UPDATE reviews_spread SET label = 'Forged'", "Spread", "label is “Forged”"),
    ("UPDATE reviews_invitation SET role = 'editor' WHERE role = 'agent'", "Invitation", "says “agent”"),
    ("DELETE FROM reviews_reply", "Reply", "is gone; entry"),
    ("DELETE FROM reviews_agreement", "Agreement", "is gone; entry"),
]  # fmt: skip


@pytest.mark.parametrize(("statement", "kind", "found"), CHANGES, ids=lambda value: str(value)[:60])
def test_a_changed_row_is_found_and_the_difference_named(cast, statement, kind, found):
    run(statement)
    code, said = verify()
    assert code == 1
    assert any(f"{kind} " in line and found in line for line in said.splitlines()), said


def test_a_row_that_no_deed_made_is_found(cast):
    run(
        "INSERT INTO reviews_reply (note_id, author_id, words, sight, at) "
        "SELECT note_id, author_id, 'Agreed, no fee.', 'all', at FROM reviews_reply"
    )
    code, said = verify()
    assert code == 1 and "is in the rows, and no entry names it" in said


def test_what_the_entries_hold_cannot_be_taken_out_or_changed_unseen(cast):
    letter = cast.book.entries.get(deed=Deed.SEND_LETTER)
    tamper("UPDATE reviews_ledgerentry SET rows = NULL WHERE id = %s", letter.pk)
    assert f"entry {letter.seq} was changed after it was written" in verify()[1]


def test_every_kind_of_row_that_words_stand_in_is_held_with_its_words(cast):
    """A model that gains a text which a person reads must be held; the list names what is left out on purpose."""
    left_out = {"paper", "seed", "email", "state", "approved_sha256"}  # the last two: rules.replay
    for name, kind in KINDS.items():
        texts = {
            field.name for field in kind.model._meta.get_fields()
            if field.concrete and field.get_internal_type() in ("TextField", "CharField")
        }  # fmt: skip
        missing = texts - set(kind.columns) - left_out
        # The publisher's own remark on terms stands in no ledger entry, proposed or agreed (models/terms.py).
        # The aims of a measured proof are a whole file, for which its SHA-256 stands, as a picture's does.
        # A ballot's salt is drawn by chance; the seal that is held is made with it.
        left = {
            "hand-placed note": {"by_page", "verdict"}, "proposal": {"house_remark"}, "aims": {"text"},
            "ballot": {"salt"},
        }  # fmt: skip
        own = left.get(name, set())
        assert missing <= own, (name, missing)


# The file of a picture


@pytest.fixture
def forge():
    """Overwrite the file of the noted picture; other tests put in the same picture, so it is mended afterwards."""
    kept = {}

    def overwrite(data: bytes) -> None:
        picture = Note.objects.filter(state="sent").first().picture
        path = Path(default_storage.path(storage.original_name(picture.sha256)))
        kept.setdefault(path, path.read_bytes())
        path.write_bytes(data)

    yield overwrite
    for path, data in kept.items():
        path.write_bytes(data)


def test_a_forged_file_of_another_size_is_found_at_once(cast, forge):
    forge(b"FORGED")
    code, said = verify()
    assert code == 1 and "has 6 bytes" in said


def test_a_forged_file_of_the_same_size_is_found_by_reading_it(cast, forge):
    forge(b"F" * Note.objects.filter(state="sent").first().picture.n_bytes)
    code, said = verify()
    assert code == 0 and "whole" not in said.splitlines()[0] and "Not read: the bytes of" in said
    code, said = verify("--files")
    assert code == 1 and "its bytes have another fingerprint" in said


# Entries of the first form


def rechain(book, *, change=lambda entry: None, rows_from: int = 1) -> None:
    """Write a book's chain anew, as somebody with the database and this code can; ``rows_from`` makes old entries."""
    previous = ""
    with triggers_lifted():
        for entry in LedgerEntry.objects.filter(book=book).order_by("seq"):
            change(entry)
            entry.rows = entry.rows if entry.seq >= rows_from else None
            entry.previous = previous
            entry.sha256 = previous = fingerprint(
                book=book.pk, entry=entry.as_entry(), seat=entry.seat_id, sight=entry.sight, previous=previous,
                rows=entry.rows,
            )  # fmt: skip
            super(type(entry), entry).save()


def test_old_entries_still_verify_and_it_is_said_that_they_hold_no_words(cast):
    rechain(cast.book, rows_from=10_000)
    code, said = verify("--files")
    assert code == 0
    assert "whole and in order" not in said
    assert "Entries of this book hold no words" in said and "Held by no entry, so not compared" in said
    assert ", 2 notes" in said


def test_an_older_book_can_be_taken_down_as_it_is_and_is_compared_from_then_on(cast):
    rechain(cast.book, rows_from=10_000)
    code, said = verify("--hold", "--files")
    assert code == 0 and "its ledger holds now what its rows say" in said
    # What was changed before then cannot be known, and nothing says that it is.
    assert "whole and in order" not in said and "hold no words" in said and "not compared" not in said
    entry = cast.book.entries.last()
    assert "lines before this one hold no words" in sentence(entry.as_entry())
    assert "its ledger holds now" not in verify("--hold")[1], "once is enough"
    run("UPDATE reviews_note SET words = 'Forged.' WHERE state = 'sent'")
    code, said = verify()
    assert code == 1 and f"entry {entry.seq} of the ledger says" in said


def test_a_column_that_is_held_no_more_accuses_nobody_and_the_others_are_compared(cast):
    """Pictures were once held with the sentence of their refusal; it became a code with its values."""

    def as_before(entry):
        for row in ((entry.rows or {}).get("held") or {}).get("picture", {}).values():
            if row is not None:
                row["reason"] = "A sentence of then."
                del row["reason_code"], row["reason_values"]

    rechain(cast.book, change=as_before)
    assert any("A sentence of then." in json.dumps(entry.rows) for entry in cast.book.entries.all())
    assert verify("--files")[0] == 0
    run("UPDATE reviews_picture SET file_name = 'forged.jpg'")
    assert "file name is “forged.jpg”" in verify()[1]


def test_in_a_book_of_both_forms_new_rows_are_compared_and_old_ones_told(cast):
    reply = cast.book.entries.get(deed=Deed.REPLY)
    rechain(cast.book, rows_from=reply.seq)
    code, said = verify()
    assert code == 0 and f"Entries before {reply.seq} hold no words" in said
    run("UPDATE reviews_reply SET words = 'Forged.'")
    assert verify()[0] == 1


# What left the machine


def stand_now(cast):
    return last_stand(cast.book.pk, names_of(cast.book.pk, Role.AGENT))


def cut(cast, n: int) -> None:
    """Take the last entries away with everything they left in the rows, as thoroughly as can be."""
    last = list(LedgerEntry.objects.filter(book=cast.book).order_by("-seq").values_list("pk", flat=True)[:n])
    marks = ",".join(map(str, last))
    tamper(f"DELETE FROM reviews_notice WHERE entry_id IN ({marks})")
    tamper(f"DELETE FROM reviews_ledgerentry WHERE id IN ({marks})")


@pytest.mark.parametrize("n", [1, 3, 8])
def test_the_last_entries_cut_off_are_shown_by_a_code_that_left_the_machine(cast, n):
    for name in range(8):
        offer = seats.invite(
            cast.book.pk, email=f"{name}@thimblereed.example", name=f"N{name}", role="editor", actor=cast.art_director
        )
        run("DELETE FROM reviews_job WHERE subject_id = %s AND kind = 'invitation'", offer.pk)
    kept = stand_now(cast)
    assert verify(str(cast.book.pk), "--code", str(kept))[0] == 0
    cut(cast, n)
    run("DELETE FROM reviews_invitation WHERE id IN (SELECT id FROM reviews_invitation ORDER BY id DESC LIMIT %s)", n)
    code, said = verify(str(cast.book.pk))
    assert code == 0, "without a code nothing shows it, and nothing says that it is whole"
    assert "whole" not in said and "Only a code kept elsewhere shows that nothing was cut off" in said
    code, said = verify(str(cast.book.pk), "--code", str(kept))
    assert code == 1 and f"there is no line {kept.line} any more" in said


def test_a_history_written_anew_is_shown_by_a_code_that_left_the_machine(cast):
    kept = stand_now(cast)

    def forge_the_name(entry):
        entry.by = "Somebody Else" if entry.seq == 2 else entry.by

    rechain(cast.book, change=forge_the_name)
    assert verify(str(cast.book.pk))[0] == 0, "the chain alone cannot tell"
    code, said = verify(str(cast.book.pk), "--code", f"It stands at {kept} of the ledger.")
    assert code == 1 and "something up to it was changed" in said


def test_a_code_that_moved_to_another_line_says_so(cast):
    kept = stand_now(cast)
    code, said = verify(str(cast.book.pk), "--code", f"{int(kept.line) - 1} {kept.code}")
    assert code == 1 and f"stands at line {kept.line} now" in said


def test_codes_may_be_given_as_a_file_and_none_at_all_is_no_agreement(cast, tmp_path):
    kept = stand_now(cast)
    mail = tmp_path / "mail.txt"
    mail.write_text(f"Dear Juniper,\n\nThis letter is recorded at {kept} of the ledger.\n")
    assert verify(str(cast.book.pk), "--code", str(mail))[0] == 0
    assert verify(str(cast.book.pk), "--code", "nothing of the kind")[0] == 1


def test_a_code_covers_what_one_side_keeps_to_itself_and_does_not_count_it(cast):
    """Between two shared lines the publisher's unsent notes lie: their number is not told, their words are covered."""
    before = stand_now(cast)
    ideas = cast.passage("Cover", "ideas")
    hidden = [pinned(ideas, cast.editor, f"Unsent {n}.") for n in range(3)]
    letters.weigh_note(hidden[0].pk, weighing="held", actor=cast.art_director)
    assert stand_now(cast) == before
    seats.invite(cast.book.pk, email="w@thimblereed.example", name="W", role="editor", actor=cast.art_director)
    after = stand_now(cast)
    assert int(after.line) == int(before.line) + 1

    def forge_the_hidden(entry):
        entry.at = entry.at + timedelta(seconds=1) if entry.deed == Deed.WEIGH_NOTE else entry.at

    rechain(cast.book, change=forge_the_hidden)
    found = checked(cast.book, Role.AGENT, str(after))
    assert not found.agrees and found.breaks == []


def test_two_books_with_the_same_deed_at_the_same_moment_have_other_codes(cast):
    """What one side did and did not say cannot be tried out from the fingerprints around it: each holds a chance."""
    salts = [entry.rows["salt"] for entry in LedgerEntry.objects.all()]
    assert len(set(salts)) == len(salts) and all(len(salt) == 32 for salt in salts)


def test_the_words_stand_in_no_sentence_and_no_export(cast):
    """What an entry holds is for checking; it is shown to nobody through the ledger."""
    for entry in cast.book.entries.all():
        assert "Owls have no ears" not in sentence(entry.as_entry())
        assert "Owls have no ears" not in json.dumps(entry.data)
    assert "Owls have no ears" in json.dumps([entry.rows for entry in cast.book.entries.all()])


def test_the_code_of_a_letter_is_that_of_its_own_entry(cast):
    from reviews.pages.letter_pages import letter_page

    letter = Letter.objects.filter(book=cast.book, sent_at__isnull=False).get()
    entry = cast.book.entries.get(deed=Deed.SEND_LETTER)
    assert letter_page(letter, Role.ILLUSTRATOR).stand.code == code_of(entry.sha256)
    assert letter_fingerprint(letter) and Seat.objects.exists()
