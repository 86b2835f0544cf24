# ruff: noqa: E501 (the sentences stand in one piece, as they were stored)
"""A database that stored sentences becomes one that stores codes, and loses no word on the way."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from reviews.models import Derivation, Picture
from reviews.pages.wording.changes import remark_sentence
from reviews.pages.wording.derived import step_words
from reviews.pages.wording.jobs import error_sentence
from reviews.pages.wording.pictures import assumed_words, refusal_sentence
from tests.cast import gather
from tests.makers import a_book, draft

step = import_module("reviews.migrations.0041_words_to_codes")
FIRST, LAST = ("reviews", "0040_codes_beside_words"), ("reviews", "0042_words_leave")
ODD = "A sentence that nobody ever wrote here."
STORED_REMARKS = [
    "Two readings are possible: the whole page was moved, or its largest figure was. Look at both before you rely on "
    "what is marked.",
    "Redrawn freely (about 1.3 mm from line to line): moves under 2 mm are not shown.",
    "7 places to look at, heaviest first.",
    "1 place to look at, heaviest first.",
]
# Claims that nothing stood behind: they are read, and not said again.
STORED_CLAIMS = ["Nothing moved more than 1 mm.", "No change was found."]
RATES = (
    "On test drawings 90 in 100 changed places were called changed and 3 in 100 unchanged; of the unchanged places 1 in "
    "100 was called changed."
)
# As they were stored: the code beside the sentence.
STORED_REFUSALS = [
    ("not-a-picture", "This is a text file, whatever its name says. Send a JPEG, PNG, TIFF, PSD, WebP, AVIF, HEIC or PDF instead."),
    ("unsupported-kind", "This is an archive, which cannot be opened here. Send a JPEG, PNG, TIFF, PSD, WebP, AVIF, HEIC or PDF instead."),
    ("unsupported-kind", "This TIFF stores its pixels in a way that cannot be read here. Save it as a TIFF (LZW) or a JPEG and send that."),
    ("too-large", "This file has 1203 MB; at most 1074 MB are taken. Flatten its layers or compress it, and send it again."),
    ("too-many-pixels", "This picture is 60000 × 60000 pixels, 3600 million in all; at most 400 million are taken. Reduce it and send it again."),
    ("too-many-pixels", "This picture is 70000 × 3 pixels; no side may be longer than 65535 pixels. Reduce it and send it again."),
    ("truncated", "This JPEG is cut short: it ends before the picture does. Export or upload it again."),
    ("damaged", "This PNG is damaged and cannot be read to its end. Export it again and send the new file."),
    ("locked", "This PDF is locked with a password. Export it again without one and send the new file."),
    ("different-sizes", "The drawing is 2.0 times as large on left half.png as on right.png. Scan all sheets at the same resolution, then join them."),
    ("no-overlap", "No certain overlap was found for a.png and sheet 3. Scan the parts again so that each shares at least two centimetres of drawing with its neighbour, all at the same resolution."),
    ("no-pencil", "No orange, red or blue under-drawing was found in this scan, so there is nothing to take out. Check that it was scanned in colour."),
    ("no-ink", "Only blue pencil was found in this scan and no black ink over it: nothing would be left. Choose the scan that has the ink."),
    ("damaged", "Sheet 2 (right (new).png): This WebP is damaged and cannot be read to its end. Export it again and send the new file."),
    ("too-large-together", "Joined, the sheets would be too large. This picture is 70000 × 3000 pixels; no side may be longer than 65535 pixels. Reduce it and send it again."),
]  # fmt: skip
STORED_STEPS = ["Reading tarn left.png", "Compared sheet 1 with sheet 2", "Writing the ink alone"]
STORED_ERRORS = [
    "This failed 5 times and was given up. An administrator finds the reason in the worker's log.",
    "The worker stopped 3 times in the middle of this. An administrator finds the reason in its log.",
    "This did not work yet and will be tried again.",
    "This Roughproof does not know how to do “weave”; a newer one may have asked for it.",
    "The store of the pictures does not answer now. This did not work yet and will be tried again.",
    "There is no room on the disk now. This did not work yet and will be tried again.",
    "The mail server does not take mail now. It was tried for three days and then given up; nothing is wrong with what "
    "you sent.",
    "The mail server refused this mail for good: “550 No such user “here””. Check the address.",
    "No time stamp service is configured any more.",
]


@pytest.mark.parametrize("sentence", [*STORED_CLAIMS, RATES])
def test_a_stored_claim_without_evidence_is_read_and_not_said_again(sentence):
    coded = step.coded(step.REMARKS, sentence)
    assert coded["code"] != "as-told" and remark_sentence(coded) != sentence
    assert "not kept" in remark_sentence(coded)


@pytest.mark.parametrize("sentence", STORED_REMARKS)
def test_a_stored_remark_says_the_same_as_a_code(sentence):
    coded = step.coded(step.REMARKS, sentence)
    assert coded["code"] != "as-told" and remark_sentence(coded) == sentence


@pytest.mark.parametrize(("code", "sentence"), STORED_REFUSALS)
def test_a_stored_refusal_says_the_same_as_a_code(code, sentence):
    found, values = step.refusal(code, sentence)
    assert found == code and refusal_sentence(found, values) == sentence


@pytest.mark.parametrize("sentence", STORED_STEPS)
def test_a_stored_step_says_the_same_as_a_code(sentence):
    coded = step.coded(step.STEPS, sentence)
    assert coded["code"] != "as-told" and step_words(coded) == sentence


@pytest.mark.parametrize("sentence", STORED_ERRORS)
def test_a_stored_error_says_the_same_as_a_code(sentence):
    coded = step.coded(step.ERRORS, sentence)
    assert coded["code"] != "as-told" and error_sentence(coded) == sentence


def test_what_is_not_recognised_is_kept_word_for_word_with_its_code():
    assert step.refusal("damaged", ODD) == ("as-told", {"words": ODD, "was": "damaged"})
    assert refusal_sentence(*step.refusal("damaged", ODD)) == ODD
    for say, table in ((remark_sentence, step.REMARKS), (step_words, step.STEPS), (error_sentence, step.ERRORS)):
        assert say(step.coded(table, ODD)) == ODD


@pytest.fixture
def at_work(transactional_db):
    """A draft with a picture that was refused and one that was read, and a picture that could not be made of them."""
    cast = gather(a_book())
    hand_in = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2, 3))
    refused, odd, read = hand_in.pictures.order_by("position")
    Picture.objects.filter(pk__in=[refused.pk, odd.pk]).update(state="refused")
    Derivation.objects.create(
        hand_in=hand_in, making="join", state="failed", reason_code="no-overlap", asked_at=timezone.now()
    )
    return refused.pk, odd.pk, read.pk


@pytest.fixture
def back(at_work):
    """The database as it was before, with the tables of that time; brought up to date again afterwards."""
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes("reviews")
    before = [parent.key for parent in executor.loader.graph.node_map[FIRST].parents if parent.key[0] == "reviews"]
    executor.migrate(before)
    yield executor.loader.project_state(before).apps
    MigrationExecutor(connection).migrate(newest)


def forward():
    executor = MigrationExecutor(connection)
    executor.migrate([LAST])
    return executor.loader.project_state([LAST]).apps


def test_pictures_of_before_say_the_same_by_codes(at_work, back):
    refused, odd, read = at_work
    pictures = back.get_model("reviews", "Picture").objects
    code, sentence = STORED_REFUSALS[4]
    pictures.filter(pk=refused).update(reason_code=code, reason=sentence)
    pictures.filter(pk=odd).update(reason_code="damaged", reason=ODD)
    assumed = "The file carries no grey profile; its greys are shown on the sRGB tone scale."
    pictures.filter(pk=read).update(facts={"bits": 8, "assumed_profile": assumed})
    no_overlap = STORED_REFUSALS[10][1]
    back.get_model("reviews", "Derivation").objects.update(reason=no_overlap)

    apps = forward()

    rows = {row.pk: row for row in apps.get_model("reviews", "Picture").objects.all()}
    assert (rows[refused].reason_code, rows[refused].reason_values["how"]) == (code, "area")
    assert refusal_sentence(rows[refused].reason_code, rows[refused].reason_values) == sentence
    assert (rows[odd].reason_code, rows[odd].reason_values) == ("as-told", {"words": ODD, "was": "damaged"})
    assert rows[read].facts == {"bits": 8, "assumed_profile": "grey"} and assumed_words(rows[read].facts) == assumed
    assert (rows[read].reason_code, rows[read].reason_values) == ("", {})
    made = apps.get_model("reviews", "Derivation").objects.get()
    assert refusal_sentence(made.reason_code, made.reason_values) == no_overlap


def test_comparisons_and_jobs_of_before_become_codes(back):
    now = timezone.now()
    comparison, job = back.get_model("reviews", "Comparison"), back.get_model("reviews", "Job")
    sentences = [STORED_REMARKS[1], STORED_REMARKS[2], ODD]
    told = {"method": "m", "state": "aligned", "maps": [], "sentences": sentences, "changes": [], "rates": RATES}
    comparison.objects.create(sha256_a="a" * 64, sha256_b="b" * 64, width_um=1, method="m", told=told, made_at=now)
    comparison.objects.create(sha256_a="c" * 64, sha256_b="d" * 64, width_um=1, method="m")
    common = {"kind": "derive", "run_after": now, "paused_at": now, "created_at": now}
    job.objects.all().delete()
    job.objects.create(**common, subject_id=1, key="1", state="failed", error=STORED_ERRORS[0], finished_at=now)
    job.objects.create(**common, subject_id=2, key="2", progress_words=STORED_STEPS[1], error=ODD)
    job.objects.create(**common, subject_id=3, key="3")

    apps = forward()

    first, second = apps.get_model("reviews", "Comparison").objects.order_by("pk")
    assert first.result["remarks"] == [
        {"code": "redrawn-freely", "redraw_mm": 1.3, "least_move_mm": 2},
        {"code": "n-places", "n": 7},
        {"code": "as-told", "words": ODD},
    ]
    assert first.result["rates"]["code"] == "touch-rates" and "sentences" not in first.result
    assert second.result is None
    gave_up, trying, fresh = apps.get_model("reviews", "Job").objects.order_by("key")
    assert gave_up.error == {"code": "gave-up", "n": 5}
    assert trying.progress_step == {"code": "compared-sheets", "one": 1, "two": 2}
    assert trying.error == {"code": "as-told", "words": ODD}
    assert (fresh.error, fresh.progress_step) == ({}, {})
