"""Measured proofs: published samples judged on the page, line by line, and never more than was measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.urls import reverse

from reviews.actions.measured_proofs import ProofAsked, SentText, judge_measured
from reviews.models import LedgerEntry, MeasuredProof, ReferenceSet
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.press import PROOF_CAUTION
from reviews.press.proof_check import judge_proof
from reviews.queries.held_check import check_held
from reviews.rules.states import Deed, Role
from tests.cast import gather, sign_in
from tests.makers import a_book

pytestmark = pytest.mark.django_db

FOGRA39 = Path("/usr/share/color/icc/FOGRA39L.ti3")
TR006 = Path("/usr/share/color/icc/TR006.ti3")
INKS = {"paper": (0, 0, 0, 0), "C": (100, 0, 0, 0), "M": (0, 100, 0, 0), "Y": (0, 0, 100, 0), "K": (0, 0, 0, 100)}
#: Aims of FOGRA39, and the two samples held against them: TR 006 passes, FOGRA51 fails on paper and on cyan's hue.
AIMS = {"paper": (95, 0, -2), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93), "K": (16, 0, 0)}
PASSES = {
    "paper": (95, -0.02, -1.96), "C": (54.96, -37.12, -50), "M": (47.93, 74.11, -3.01), "Y": (88.94, -5.02, 93.17),
    "K": (14.95, 0.19, -0.14),
}  # fmt: skip
FAILS = {
    "paper": (95, 1.50, -6.00), "C": (56.12, -34.90, -52.52), "M": (48.06, 75.29, -5.18), "Y": (88.94, -4.04, 92.37),
    "K": (16.00, 0.07, -0.33),
}  # fmt: skip


def cgats(patches: dict[str, tuple[float, float, float]], title: str = "strip") -> bytes:
    rows = "\n".join(
        f"{name} {' '.join(map(str, INKS[name]))} {' '.join(map(str, lab))}" for name, lab in patches.items()
    )
    return (
        f'CGATS.17\nDESCRIPTOR "{title}"\nBEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\n'
        f"END_DATA_FORMAT\nBEGIN_DATA\n{rows}\nEND_DATA\n"
    ).encode()


@pytest.fixture
def cast():
    return gather(a_book())


def judge(client, cast, measured: bytes | None, aims: bytes | None = None, **fields):
    data = {"limits": "contract-proof", "reference_id": "", "passage_id": "", **fields}
    if measured is not None:
        data["measured"] = SimpleUploadedFile("strip.txt", measured)
    if aims is not None:
        data["reference"] = SimpleUploadedFile("aims.txt", aims)
    return client.post(reverse("reviews:judge-proof", args=[cast.book.pk]), data)


def judged(cast) -> MeasuredProof:
    """Judge the sample that passes, without a browser."""
    asked = ProofAsked(
        measured=SentText("strip.txt", cgats(PASSES)), reference_id=None, reference=SentText("aims.txt", cgats(AIMS)),
        limits="contract-proof", own_limits={}, passage_id=None,
    )  # fmt: skip
    return judge_measured(cast.book.pk, asked, actor=cast.production)


def page_of(client, cast) -> str:
    return " ".join(client.get(reverse("reviews:measured-proofs", args=[cast.book.pk])).content.decode().split())


def lines(proof: MeasuredProof) -> dict[str, tuple[str, float | None]]:
    return {line["criterion"]: (line["verdict"], line["value"]) for line in proof.lines}


def test_the_published_sample_that_passes_is_within_and_greys_that_were_not_there_are_not_measured(client, cast):
    """TR 006 against the aims of FOGRA39: paper 0.047, hues 0.096, 0.006 and 0.011, black 0.762."""
    sign_in(client, cast.production.person)
    assert judge(client, cast, cgats(PASSES), cgats(AIMS, "FOGRA39 aims")).status_code == 302
    proof = MeasuredProof.objects.get()
    found = lines(proof)
    assert found["paper"] == ("pass", pytest.approx(0.047, abs=6e-4))
    assert found["solids"] == ("pass", pytest.approx(0.762, abs=6e-4))
    assert found["solids-hue"] == ("pass", pytest.approx(0.096, abs=6e-4))
    assert found["grey-mean"] == ("not-measured", None)
    assert proof.verdict == "not-measured", "without greys the sheet as a whole is not judged as passing"
    page = page_of(client, cast)
    assert "5 lines within their limits, 2 not measured" in page and "no such patch" in page
    assert str(PROOF_CAUTION).replace("'", "&#x27;") in page


def test_the_published_sample_that_fails_does_on_paper_and_on_the_hue_of_cyan(client, cast):
    """FOGRA51 against the aims of FOGRA39: paper 3.907; cyan 1.657 is within, its hue of 3.166 is not."""
    sign_in(client, cast.art_director.person)
    judge(client, cast, cgats(FAILS), cgats(AIMS, "FOGRA39 aims"))
    found = lines(MeasuredProof.objects.get())
    assert found["paper"] == ("fail", pytest.approx(3.907, abs=6e-4))
    assert found["solids"] == ("pass", pytest.approx(1.657, abs=6e-4))
    assert found["solids-hue"] == ("fail", pytest.approx(3.166, abs=6e-4))
    entry = LedgerEntry.objects.get(deed=Deed.JUDGE_PROOF)
    assert "2 beyond" in sentence(entry.as_entry()) and "aims.txt" in sentence(entry.as_entry())
    assert not check_held(cast.book).faults


def test_a_whole_published_chart_is_judged_and_the_aims_are_kept_for_the_next(client, cast):
    """The 1,617 patches of ISO 12642-2 of FOGRA39 against themselves; then TR 006 against the kept aims."""
    sign_in(client, cast.production.person)
    judge(client, cast, FOGRA39.read_bytes(), FOGRA39.read_bytes())
    proof = MeasuredProof.objects.get()
    assert len(proof.patches) == 1617 and proof.verdict == "pass"
    assert {line["value"] for line in proof.lines} == {0.0}
    kept = ReferenceSet.objects.get()
    judge(client, cast, TR006.read_bytes(), reference_id=str(kept.pk), limits="validation-print")
    assert ReferenceSet.objects.count() == 1 and MeasuredProof.objects.count() == 2
    page = page_of(client, cast)
    assert "ISO 12647-8:2021" in page and 'class="plot"' in page and "patches in both" in page


def test_a_limit_of_the_houses_own_is_used_and_said(client, cast):
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(FAILS), cgats(AIMS), limit_paper="4")
    proof = MeasuredProof.objects.get()
    assert lines(proof)["paper"][0] == "pass" and proof.limits == "own"
    assert "your printer’s own figure" in page_of(client, cast)


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_others_read_verdicts_and_judge_nothing(client, cast, role):
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(PASSES), cgats(AIMS))
    sign_in(client, cast.seat(role).person)
    page = page_of(client, cast)
    assert "strip.txt" in page and "Judge a measurement" not in page
    assert judge(client, cast, cgats(PASSES), cgats(AIMS)).status_code == 403
    assert MeasuredProof.objects.count() == 1


@pytest.mark.parametrize(
    ("measured", "aims", "words"),
    [
        (None, cgats(AIMS), "Choose the text file of the measurement"),
        (cgats(PASSES), None, "Choose the aims the proof was made for"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", cgats(AIMS), "no plain text"),
        (b"a letter to a friend", cgats(AIMS), "no table of measured colour"),
        (cgats(PASSES).replace(b"LAB_B", b"ELSE_B"), cgats(AIMS), "lacks"),
        (cgats(PASSES).replace(b"54.96", b"fifty"), cgats(AIMS), "does not hold the values"),
        (cgats(PASSES).replace(b"54.96", b"nan"), cgats(AIMS), "does not hold the values"),
        (cgats({"C": (55, -37, -50)}), cgats({"M": (48, 74, -3)}), "None of the 1 patches is in the reference"),
        (cgats(PASSES).decode().encode("utf-16"), cgats(AIMS), "no plain text"),
        (b"x" * 460_801, cgats(AIMS), "no table of patches"),
        (cgats(PASSES).split(b"BEGIN_DATA\n")[0], cgats(AIMS), "holds no patch"),
    ],
)
def test_what_is_no_measurement_gets_its_sentence(client, cast, measured, aims, words):
    sign_in(client, cast.production.person)
    answer = judge(client, cast, measured, aims)
    assert answer.status_code == 422 and words in answer.content.decode()
    assert not MeasuredProof.objects.exists() and not ReferenceSet.objects.exists()


def test_the_aims_of_another_book_are_none_of_this_one(client, cast):
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(PASSES), cgats(AIMS))
    other = gather(a_book(title="A Second Book"))
    answer = judge(client, other, cgats(PASSES), reference_id=str(ReferenceSet.objects.get().pk))
    assert answer.status_code == 422 and MeasuredProof.objects.count() == 1


def test_the_newest_stands_first_with_its_worst_and_each_has_a_page_with_every_patch(
    client, cast, django_assert_max_num_queries
):
    sign_in(client, cast.production.person)
    judge(client, cast, TR006.read_bytes(), FOGRA39.read_bytes())
    aims = str(ReferenceSet.objects.get().pk)
    judge(client, cast, cgats(FAILS), reference_id=aims)
    first, second = MeasuredProof.objects.order_by("pk")
    page = page_of(client, cast)
    assert f'id="proof-{second.pk}"' in page and f'id="proof-{first.pk}"' not in page
    assert "Measured before" in page and reverse("reviews:measured-proof", args=[cast.book.pk, first.pk]) in page
    judge(client, cast, TR006.read_bytes(), reference_id=aims)
    page = page_of(client, cast)
    assert "The 20 patches farthest from their aims" in page and "All 1617 patches" in page
    with django_assert_max_num_queries(12):
        whole = client.get(reverse("reviews:measured-proof", args=[cast.book.pk, first.pk])).content.decode()
    assert whole.count('<tr><th scope="row">') == 1617 and "Every patch" in whole
    other = gather(a_book(title="A Second Book"))
    sign_in(client, other.production.person)
    assert client.get(reverse("reviews:measured-proof", args=[other.book.pk, first.pk])).status_code == 404


def test_a_chart_is_judged_before_the_book_is_locked(client, cast, monkeypatch):
    depth = []

    def judged(*given):
        depth.append(len(connection.savepoint_ids))
        return judge_proof(*given)

    monkeypatch.setattr("reviews.actions.measured_proofs.judge_proof", judged)
    sign_in(client, cast.production.person)
    outside = len(connection.savepoint_ids)
    judge(client, cast, cgats(PASSES), cgats(AIMS))
    assert depth == [outside] and MeasuredProof.objects.count() == 1


def test_kept_aims_that_are_not_their_file_any_more_judge_nothing(client, cast):
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(PASSES), cgats(AIMS))
    kept = ReferenceSet.objects.get()
    ReferenceSet.objects.update(text=kept.text.replace("95", "94"))
    answer = judge(client, cast, cgats(FAILS), reference_id=str(kept.pk))
    assert answer.status_code == 422 and "are not the file that was loaded any more" in answer.content.decode()
    assert MeasuredProof.objects.count() == 1
    judge(client, cast, cgats(FAILS), cgats(AIMS))
    assert MeasuredProof.objects.count() == 2, "the file itself, sent again, is judged by"


def test_a_limit_that_the_standard_does_not_name_is_judged_where_the_house_sets_it(client, cast):
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(FAILS), cgats(AIMS), limits="validation-print", limit_most="3.5")
    proof = MeasuredProof.objects.get()
    assert proof.limits == "own" and lines(proof)["most"] == ("fail", pytest.approx(3.907, abs=6e-4))


def test_the_page_names_the_ink_without_which_a_line_is_not_measured(client, cast):
    sign_in(client, cast.production.person)
    without = {name: lab for name, lab in PASSES.items() if name != "Y"}
    judge(client, cast, cgats(without), cgats(AIMS))
    assert lines(MeasuredProof.objects.get())["solids"][0] == "not-measured"
    assert "not measured: no patch of Y" in page_of(client, cast)
