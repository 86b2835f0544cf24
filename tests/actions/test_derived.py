"""Pictures made from sheets of a draft: asked for once, kept or dropped and back again, and only the kept handed in."""

from __future__ import annotations

from typing import Any

import pytest

from reviews import jobs
from reviews.actions import hand_ins
from reviews.actions.derived import choose_derived, derived_failed, derived_made, make_derived
from reviews.actions.jobs import Claim, LeaseLost, claim_job, fail_job
from reviews.actions.pictures import picture_ready
from reviews.imaging import derived as pixels
from reviews.models import Derivation, HandIn, Job, LedgerEntry, Picture
from reviews.models.jobs import JobState
from reviews.pages import derived as derived_pages
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger_check import ledger_faults
from reviews.rules import derived as rules
from reviews.rules.derived import Choice, DerivedState, Making, Pencil
from reviews.rules.states import Deed, PictureState, Refused
from tests.cast import Cast, gather
from tests.makers import a_book, draft

pytestmark = pytest.mark.django_db
MADE_SHA = "ab" * 32


@pytest.fixture(autouse=True)
def _made_bytes_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The worker keeps the bytes before it says what it made; here nothing has bytes."""
    monkeypatch.setattr("reviews.actions.derived.hold_original", lambda sha256: True)


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def sheets_of(hand_in: HandIn) -> list[Picture]:
    return list(hand_in.pictures.filter(removed_at=None).order_by("position"))


def names_in(hand_in: HandIn) -> list[str]:
    return [picture.file_name for picture in sheets_of(hand_in)]


def two_sheets(cast: Cast, seeds: tuple[int, ...] = (1, 2)) -> HandIn:
    return draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, seeds)


def ask(cast: Cast, hand_in: HandIn, making: Making = Making.JOIN, sheets: list[Picture] | None = None) -> Derivation:
    ids = [sheet.pk for sheet in (sheets or sheets_of(hand_in))]
    return make_derived(hand_in.pk, making, ids, actor=cast.illustrator)


def claim_of(derivation: Derivation) -> Claim:
    claim = claim_job(Job.objects.get(kind=jobs.DERIVE, subject_id=derivation.pk).pk)
    assert claim is not None
    return claim


def recipe_of(derivation: Derivation) -> dict[str, Any]:
    hashes = [sheet.picture.sha256 for sheet in derivation.sheets.select_related("picture")]
    if derivation.making == Making.INK:
        return {"pencil": "blue", "pencil_share": 0.1, "sources_sha256": hashes}
    placed = [{"turn_degrees": 0.0, "scale": 1.0, "overlap": 0.2}] * len(hashes)
    return {"sheets": placed, "residual_px": 0.04, "sources_sha256": hashes}


def made(derivation: Derivation, sha256: str = MADE_SHA) -> Derivation:
    """Let the worker have made it, without pixels."""
    derived_made(claim_of(derivation), sha256=sha256, n_bytes=99, recipe=recipe_of(derivation))
    derivation.refresh_from_db()
    picture_ready(derivation.picture_id, width_px=900, height_px=256, facts={"kind": "PNG"})
    return derivation


def code_of(deed: Any) -> str:
    with pytest.raises(Refused) as refused:
        deed()
    return refused.value.code


def test_the_page_asks_for_the_job_that_is_asked_for() -> None:
    assert derived_pages.JOB_KIND == jobs.DERIVE


def test_the_largest_sheet_is_the_same_in_rules_and_pixels() -> None:
    assert rules.MAX_SIDE_PX == pixels.MAX_SIDE_PX


def test_asking_twice_is_asking_once(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    first, second = ask(cast, hand_in), ask(cast, hand_in)
    assert first.pk == second.pk
    assert Job.objects.filter(kind=jobs.DERIVE).count() == 1
    entries = LedgerEntry.objects.filter(book=cast.book, deed=Deed.MAKE_DERIVED)
    assert entries.count() == 1
    assert "asked to join idea 1.jpg and idea 2.jpg for Pages 4–5, ideas." in sentence(entries.get().as_entry())


def test_what_was_made_is_kept_in_place_of_its_sheets_and_handed_in_alone(cast: Cast) -> None:
    hand_in = two_sheets(cast, (1, 2, 3))
    sheets = sheets_of(hand_in)[:2]
    derivation = made(ask(cast, hand_in, sheets=sheets))
    assert derivation.state == DerivedState.MADE
    assert names_in(hand_in) == ["idea 1.jpg", "idea 2.jpg", "idea 3.jpg"]
    choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
    assert names_in(hand_in) == ["idea 1, joined.png", "idea 3.jpg"]
    hand_ins.hand_in(hand_in.pk, actor=cast.illustrator)
    # Options are spoken of by their number, so none is left out.
    assert [picture.position for picture in sheets_of(hand_in)] == [1, 2]
    told = LedgerEntry.objects.get(book=cast.book, deed=Deed.HAND_IN).data["pictures"]
    assert told[0]["sha256"] == MADE_SHA
    assert told[0]["made_from"] == [sheet.sha256 for sheet in sheets]
    assert "made_from" not in told[1]
    assert list(ledger_faults(cast.book)) == []


def test_the_ledger_names_the_sheets_by_hash_and_the_recipe_in_words(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    derivation = made(ask(cast, hand_in))
    entry = LedgerEntry.objects.get(book=cast.book, deed=Deed.DERIVE_PICTURE)
    assert [sheet["sha256"] for sheet in entry.data["sheets"]] == [sheet.sha256 for sheet in sheets_of(hand_in)]
    assert entry.data["recipe"]["sources_sha256"] == [sheet["sha256"] for sheet in entry.data["sheets"]]
    told = sentence(entry.as_entry())
    one, two = (sheet.sha256[:8] for sheet in sheets_of(hand_in))
    sources = f"idea 1.jpg ({one}) and idea 2.jpg ({two})"
    made_so = f"The portal made idea 1, joined.png for Pages 4–5, ideas from {sources}. idea 1.jpg lies as it was"
    assert told.startswith(made_so)
    choose_derived(derivation.pk, Choice.DROP, actor=cast.illustrator)
    dropped = LedgerEntry.objects.get(book=cast.book, deed=Deed.CHOOSE_DERIVED)
    assert "dropped idea 1, joined.png from the draft" in sentence(dropped.as_entry())


def test_keeping_and_taking_it_back_leaves_the_draft_as_it_was(cast: Cast) -> None:
    hand_in = two_sheets(cast, (1, 2, 3))
    before = names_in(hand_in)
    derivation = made(ask(cast, hand_in, sheets=sheets_of(hand_in)[1:]))
    for back in (Choice.AGAIN, Choice.DROP):
        choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
        assert names_in(hand_in) == ["idea 1.jpg", "idea 2, joined.png"]
        choose_derived(derivation.pk, back, actor=cast.illustrator)
        assert names_in(hand_in) == before


def test_sheets_that_come_back_to_a_full_draft_are_not_handed_in_beyond_its_bounds(cast: Cast) -> None:
    hand_in = two_sheets(cast, tuple(range(6)))
    derivation = made(ask(cast, hand_in))
    choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
    two_sheets(cast, tuple(range(6, 25)))
    choose_derived(derivation.pk, Choice.AGAIN, actor=cast.illustrator)
    with pytest.raises(Refused) as refused:
        hand_ins.hand_in(hand_in.pk, actor=cast.illustrator)
    assert (refused.value.code, refused.value.values) == ("draft-too-full", {"n": 25, "most": 20})
    for extra in sheets_of(hand_in)[20:]:
        hand_ins.remove_picture(extra.pk, actor=cast.illustrator)
    assert hand_ins.hand_in(hand_in.pk, actor=cast.illustrator).number == 1


def test_the_same_choice_twice_is_one_deed(cast: Cast) -> None:
    derivation = made(ask(cast, two_sheets(cast)))
    for _ in range(2):
        choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
    assert LedgerEntry.objects.filter(book=cast.book, deed=Deed.CHOOSE_DERIVED).count() == 1


def test_taking_the_kept_picture_out_of_the_draft_brings_its_sheets_back(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    derivation = made(ask(cast, hand_in))
    choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
    hand_ins.remove_picture(derivation.picture_id, actor=cast.illustrator)
    derivation.refresh_from_db()
    assert derivation.state == DerivedState.DROPPED
    assert names_in(hand_in) == ["idea 1.jpg", "idea 2.jpg"]


def test_a_sheet_taken_out_by_hand_does_not_come_back_by_itself(cast: Cast) -> None:
    hand_in = two_sheets(cast, (1, 2, 3))
    derivation = made(ask(cast, hand_in, sheets=sheets_of(hand_in)[:2]))
    hand_ins.remove_picture(sheets_of(hand_in)[0].pk, actor=cast.illustrator)
    choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)
    choose_derived(derivation.pk, Choice.AGAIN, actor=cast.illustrator)
    assert names_in(hand_in) == ["idea 2.jpg", "idea 3.jpg"]


def test_the_ink_of_a_joined_picture_is_built_upon_it(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    joined = made(ask(cast, hand_in))
    choose_derived(joined.pk, Choice.KEEP, actor=cast.illustrator)
    ink = made(ask(cast, hand_in, Making.INK), "cd" * 32)
    choose_derived(ink.pk, Choice.KEEP, actor=cast.illustrator)
    assert names_in(hand_in) == ["idea 1, joined, ink only.png"]
    assert code_of(lambda: choose_derived(joined.pk, Choice.DROP, actor=cast.illustrator)) == "built-upon"
    choose_derived(ink.pk, Choice.DROP, actor=cast.illustrator)
    choose_derived(joined.pk, Choice.DROP, actor=cast.illustrator)
    assert names_in(hand_in) == ["idea 1.jpg", "idea 2.jpg"]


def test_a_sheet_of_two_kept_pictures_comes_back_with_the_last_of_them(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    first = sheets_of(hand_in)[0]
    joined, ink = made(ask(cast, hand_in)), made(ask(cast, hand_in, Making.INK, [first]), "cd" * 32)
    for one in (joined, ink):
        choose_derived(one.pk, Choice.KEEP, actor=cast.illustrator)
    choose_derived(joined.pk, Choice.DROP, actor=cast.illustrator)
    assert set(names_in(hand_in)) == {"idea 1, ink only.png", "idea 2.jpg"}
    choose_derived(ink.pk, Choice.DROP, actor=cast.illustrator)
    assert names_in(hand_in) == ["idea 1.jpg", "idea 2.jpg"]


def test_what_could_not_be_made_says_why_and_is_put_away_by_the_next_asking(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    derivation = ask(cast, hand_in)
    claim = claim_of(derivation)
    derived_failed(claim, code="no-overlap", values={"sheets": [2]})
    derivation.refresh_from_db()
    assert (derivation.state, derivation.reason_code) == (DerivedState.FAILED, "no-overlap")
    assert derivation.reason_values == {"sheets": [2]}
    assert Job.objects.get(pk=claim.job_id).state == JobState.DONE
    entry = LedgerEntry.objects.get(book=cast.book, deed=Deed.DERIVE_PICTURE)
    assert "could not join idea 1.jpg and idea 2.jpg" in sentence(entry.as_entry())
    assert "No certain overlap was found" in sentence(entry.as_entry())
    assert code_of(lambda: choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)) == "was-not-made"
    again = ask(cast, hand_in)
    derivation.refresh_from_db()
    assert (again.pk != derivation.pk, derivation.state) == (True, DerivedState.DROPPED)
    assert code_of(lambda: choose_derived(derivation.pk, Choice.KEEP, actor=cast.illustrator)) == "was-not-made"


def test_what_the_worker_gave_up_is_begun_anew_by_the_next_asking(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    given_up = ask(cast, hand_in)
    fail_job(claim_of(given_up), "gave-up", n=5)
    again = ask(cast, hand_in)
    given_up.refresh_from_db()
    assert (again.pk != given_up.pk, given_up.state) == (True, DerivedState.DROPPED)
    assert Job.objects.get(kind=jobs.DERIVE, subject_id=again.pk).state == JobState.QUEUED


def test_a_result_that_comes_twice_or_too_late_is_dropped(cast: Cast) -> None:
    derivation = ask(cast, two_sheets(cast))
    late = claim_of(derivation)
    recipe = recipe_of(derivation)
    derived_made(late, sha256=MADE_SHA, n_bytes=99, recipe=recipe)
    with pytest.raises(LeaseLost):
        derived_made(late, sha256=MADE_SHA, n_bytes=99, recipe=recipe)
    assert Picture.objects.filter(sha256=MADE_SHA).count() == 1


def test_what_was_called_off_or_handed_in_meanwhile_changes_nothing(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    called_off = ask(cast, hand_in)
    choose_derived(called_off.pk, Choice.DROP, actor=cast.illustrator)
    derived_made(claim_of(called_off), sha256=MADE_SHA, n_bytes=99, recipe=recipe_of(called_off))
    assert not Picture.objects.filter(sha256=MADE_SHA).exists()
    overtaken = ask(cast, hand_in)
    hand_ins.hand_in(hand_in.pk, actor=cast.illustrator)
    derived_made(claim_of(overtaken), sha256=MADE_SHA, n_bytes=99, recipe=recipe_of(overtaken))
    overtaken.refresh_from_db()
    assert overtaken.state == DerivedState.DROPPED
    assert names_in(hand_in) == ["idea 1.jpg", "idea 2.jpg"]
    assert code_of(lambda: choose_derived(overtaken.pk, Choice.KEEP, actor=cast.illustrator)) in {
        "already-handed-in", "not-now",
    }  # fmt: skip


def test_refusals_before_any_work(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    one, other = sheets_of(hand_in)
    elsewhere = draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, (7,)).pictures.get()
    by = cast.illustrator

    def join(*ids: int) -> str:
        return code_of(lambda: make_derived(hand_in.pk, Making.JOIN, ids, actor=by))

    assert join(one.pk) == "one-sheet"
    assert join(one.pk, elsewhere.pk) == "sheet-gone"
    assert join() == "one-sheet"
    Picture.objects.filter(pk=other.pk).update(state=PictureState.REFUSED, reason_code="not-a-picture")
    assert join(one.pk, other.pk) == "sheet-refused"
    assert (
        code_of(lambda: make_derived(hand_in.pk, Making.JOIN, [one.pk, other.pk], actor=cast.art_director))
        == "not-your-draft"
    )
    assert code_of(lambda: make_derived(hand_in.pk, Making.JOIN, [one.pk, other.pk], actor=cast.agent)) == "not-yours"
    assert not Derivation.objects.exists()


def test_the_named_pencil_goes_with_the_ink_only(cast: Cast) -> None:
    hand_in = two_sheets(cast)
    first = sheets_of(hand_in)[0]
    ink = make_derived(hand_in.pk, Making.INK, [first.pk], pencil=Pencil.BLUE, actor=cast.illustrator)
    joined = make_derived(
        hand_in.pk, Making.JOIN, [one.pk for one in sheets_of(hand_in)], pencil=Pencil.BLUE, actor=cast.illustrator
    )
    assert (ink.pencil, joined.pencil) == ("blue", "")
