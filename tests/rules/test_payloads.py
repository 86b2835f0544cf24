"""What entries carry: each deed its own shape, checked when written, and older entries still read."""

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

import pytest

from reviews.pages.wording.ledger import sentence
from reviews.rules.entries import Entry
from reviews.rules.payloads import PAYLOADS, misfits
from reviews.rules.replay import folded
from reviews.rules.states import Deed

#: A ledger as a former version wrote it, with the sentences and the state that version read from it.
KEPT = json.loads(Path(__file__).with_name("kept_ledger.json").read_text(encoding="utf-8"))
HANDED_IN = {
    "where": "Pages 4–5, ideas", "hand_in": 1, "number": 1, "pictures": [{"picture": 3, "sha256": "ab"}],
    "cover_note": "", "to": "answering", "answer_due_on": "2026-12-01", "opens": [], "printers": [], "dues": {},
}  # fmt: skip


def kept_entries() -> list[Entry]:
    return [Entry(**line | {"at": datetime.fromisoformat(line["at"])}) for line in KEPT["entries"]]


@pytest.mark.parametrize("deed", list(Deed))
def test_every_deed_has_its_payload(deed):
    assert deed in PAYLOADS


def test_a_payload_as_declared_is_right():
    assert misfits(Deed.HAND_IN, HANDED_IN) == []


@pytest.mark.parametrize(
    ("change", "wrong"),
    [
        ({"numbr": 1}, "numbr is not declared"),
        ({"pictures": [{"picture": 3}]}, "pictures.sha256 is missing"),
        ({"pictures": [{"picture": 3, "sha256": "ab", "name": "x"}]}, "pictures.name is not declared"),
    ],
)
def test_a_misspelt_or_undeclared_key_is_named(change, wrong):
    assert misfits(Deed.HAND_IN, HANDED_IN | change) == [wrong]


def test_a_missing_key_is_named():
    lacking = {key: value for key, value in HANDED_IN.items() if key != "where"}
    assert misfits(Deed.HAND_IN, lacking) == ["where is missing"]


def test_what_older_entries_lack_is_owed_by_a_new_one():
    answered = {"where": "Pages 4–5, ideas", "note": 1, "number": 1, "response": "done"}
    assert misfits(Deed.ANSWER_NOTE, answered) == ["of_letter is missing"]
    assert misfits(Deed.ANSWER_NOTE, answered | {"of_letter": 2}) == []


def test_what_only_some_entries_carry_is_owed_by_none():
    read = {"where": "Pages 4–5, ideas", "picture": 1, "file_name": "a.jpg", "verdict": "ready"}
    assert misfits(Deed.READ_PICTURE, read) == []


def test_a_ledger_of_a_former_version_reads_as_it_did():
    entries = kept_entries()
    assert len({entry.deed for entry in entries}) > 25
    assert [sentence(entry) for entry in entries] == KEPT["sentences"]
    assert {str(passage): asdict(one) for passage, one in folded(entries).items()} == KEPT["state"]


def test_its_payloads_are_those_declared():
    wrong = {entry.seq: wrong for entry in kept_entries() if (wrong := misfits(Deed(entry.deed), entry.data))}
    # Nothing else than what came later: values in place of the words that these entries hold.
    handed = {e.seq: ["printers is missing", "cover_note is missing"] for e in kept_entries() if e.deed == Deed.HAND_IN}
    fees = ["round_fee is missing", "hour_fee is missing"]
    sent = [entry for entry in kept_entries() if entry.deed == Deed.SEND_LETTER]
    later = [f"answers.{key} is missing" for key in ("printers", "errors", "handed_in_by", "stage", "stood_on")]
    letters = {entry.seq: ["cost is missing", *later * len(entry.data["answers"])] for entry in sent}
    agreed = ["proposed is missing", "late is missing", "forgives is missing"]
    assert wrong == handed | letters | {
        1: ["printers is missing"],
        57: ["printers is missing"],
        10: ["before is missing", "proposed is missing"],
        40: fees,
        42: fees,
        46: agreed,
    }
