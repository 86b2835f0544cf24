"""Pictures made from sheets of a draft: ask for one, write down what became of it, keep it or drop it.

What is made stands outside the hand-in (``removed_at``) until it is kept; then its sheets stand outside, and only what
is kept is handed in. The bytes of both stay, and the recipe names the sheets by their SHA-256.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Max

from reviews import jobs
from reviews.actions._deed import Act, deed_on
from reviews.actions._drafts import check_room, own_draft
from reviews.actions._originals import hold_original
from reviews.actions.comparisons import compare_draft
from reviews.actions.jobs import Claim, settle_job
from reviews.models import Derivation, HandIn, Job, Passage, Picture, Sheet
from reviews.models.jobs import JobState
from reviews.models.seats import Seat
from reviews.rules.derived import (
    Choice,
    DerivedState,
    Making,
    Pencil,
    SheetState,
    check_asked,
    made_name,
    state_after,
)
from reviews.rules.payload_shapes import (
    ChooseDerivedData,
    DerivedData,
    DerivePictureData,
    MadeFrom,
    MakeDerivedData,
)
from reviews.rules.states import Deed, HandInState, PictureState, Refused, Sight

MAX_PICTURES = 20


def make_derived(
    hand_in_id: int, making: Making, picture_ids: Sequence[int], *, pencil: Pencil | None = None, actor: Seat
) -> Derivation:
    """Ask for a picture to be made from sheets of the actor's draft; the worker makes it.

    Asked twice for the same of the same sheets, it is the same one. What could not be made before is put away.
    """
    with deed_on(HandIn, hand_in_id, Deed.MAKE_DERIVED, actor) as act:
        draft = own_draft(hand_in_id, act)
        passage = act.passage(draft.passage_id)
        sheets = list(draft.pictures.filter(removed_at=None, pk__in=picture_ids).order_by("position", "pk"))
        if len(sheets) != len(set(picture_ids)):
            raise Refused("sheet-gone")
        check_asked(making, [_as_sheet(sheet) for sheet in sheets])
        wanted = pencil.value if pencil and making == Making.INK else ""
        _put_away_given_up(draft)
        same = _same_as_before(draft, making, wanted, sheets)
        if same is not None:
            act.void()
            return same
        check_room(draft)
        Derivation.objects.filter(hand_in=draft, state=DerivedState.FAILED).update(state=DerivedState.DROPPED)
        derivation = Derivation.objects.create(
            hand_in=draft, making=making, pencil=wanted, state=DerivedState.ASKED, asked_at=act.now
        )
        Sheet.objects.bulk_create(
            Sheet(derivation=derivation, picture=sheet, position=n) for n, sheet in enumerate(sheets, start=1)
        )
        jobs.enqueue(jobs.DERIVE, derivation.pk)
        payload = MakeDerivedData(**_recorded(derivation, sheets, passage))
        act.record(payload, passage=passage, sight=Sight.ILLUSTRATOR)
    return derivation


def derived_made(claim: Claim, *, sha256: str, n_bytes: int, recipe: dict[str, Any]) -> None:
    """Put what the worker made beside the draft, for its illustrator to look at; ends the job in the same stroke.

    ``recipe`` names the sheets by their hashes, in order. A draft that was handed in meanwhile takes nothing more.
    """
    with deed_on(Derivation, claim.subject_id, Deed.DERIVE_PICTURE, None) as act:
        settle_job(claim)
        derivation, sheets = _with_sheets(claim.subject_id)
        if derivation.state != DerivedState.ASKED:
            act.void()
            return
        if not hold_original(sha256):
            raise FileNotFoundError(f"What was made ({sha256}) was cleared away before its row; it is made again.")
        hand_in = derivation.hand_in
        last = hand_in.pictures.aggregate(last=Max("position"))["last"] or 0
        picture = Picture.objects.create(
            hand_in=hand_in, position=last + 1, file_name=_name_of(derivation, sheets), sha256=sha256,
            n_bytes=n_bytes, state=PictureState.RECEIVED, removed_at=act.now,
        )  # fmt: skip
        jobs.enqueue(jobs.RENDITIONS, picture.pk)
        is_late = hand_in.state != HandInState.DRAFT
        derivation.state = DerivedState.DROPPED if is_late else DerivedState.MADE
        derivation.picture, derivation.recipe = picture, recipe
        derivation.save(update_fields=["state", "picture", "recipe"])
        passage = act.passage(hand_in.passage_id)
        payload: DerivePictureData = {**_recorded(derivation, sheets, passage), "verdict": "made"}
        payload |= {"picture": picture.pk, "sha256": sha256, "recipe": recipe}
        act.holds(picture)
        act.record(payload, passage=passage, sight=Sight.ILLUSTRATOR)


def derived_failed(claim: Claim, *, code: str, values: Mapping[str, Any]) -> None:
    """Record that a picture could not be made, and why; ends the job."""
    with deed_on(Derivation, claim.subject_id, Deed.DERIVE_PICTURE, None) as act:
        settle_job(claim)
        derivation, sheets = _with_sheets(claim.subject_id)
        if derivation.state != DerivedState.ASKED:
            act.void()
            return
        derivation.state = DerivedState.FAILED
        derivation.reason_code, derivation.reason_values = code, dict(values)
        derivation.save(update_fields=["state", "reason_code", "reason_values"])
        passage = act.passage(derivation.hand_in.passage_id)
        payload: DerivePictureData = {**_recorded(derivation, sheets, passage), "verdict": "not-made"}
        payload |= {"code": code, "values": dict(values)}
        act.record(payload, passage=passage, sight=Sight.ILLUSTRATOR)


def choose_derived(derivation_id: int, choice: Choice, *, actor: Seat) -> Derivation:
    """Keep what was made, drop it, or take the choice back; the same choice again changes nothing."""
    with deed_on(Derivation, derivation_id, Deed.CHOOSE_DERIVED, actor) as act:
        derivation, sheets = _with_sheets(derivation_id)
        own_draft(derivation.hand_in_id, act)
        passage = act.passage(derivation.hand_in.passage_id)
        before = DerivedState(derivation.state)
        after = state_after(before, choice)
        if after != DerivedState.DROPPED and derivation.picture is None:
            raise Refused("was-not-made")
        if after == before:
            act.void()
            return derivation
        if before == DerivedState.KEPT:
            _let_go(derivation, act)
        if after == DerivedState.KEPT:
            _take_in(derivation, sheets, act)
        derivation.state = after
        derivation.save(update_fields=["state"])
        compare_draft(derivation.hand_in, passage)
        payload = ChooseDerivedData(**_recorded(derivation, sheets, passage), choice=choice.value)
        act.holds(*derivation.hand_in.pictures.all())
        act.record(payload, passage=passage, sight=Sight.ILLUSTRATOR)
    return derivation


def drop_with_picture(picture: Picture, act: Act) -> None:
    """Bring back the sheets of a made picture that is taken out of its draft. Part of taking it out."""
    derivation = Derivation.objects.filter(picture=picture, state=DerivedState.KEPT).first()
    if derivation is not None:
        _let_go(derivation, act)
        derivation.state = DerivedState.DROPPED
        derivation.save(update_fields=["state"])


def sources_of(pictures: Iterable[Picture]) -> dict[int, list[str]]:
    """Give the hashes of the sheets of each picture that was made from some, for the ledger (1 query)."""
    kept = Derivation.objects.filter(picture__in=[picture.pk for picture in pictures], state=DerivedState.KEPT)
    return {picture: recipe["sources_sha256"] for picture, recipe in kept.values_list("picture_id", "recipe")}


def _take_in(derivation: Derivation, sheets: Sequence[Picture], act: Act) -> None:
    """Put the made picture in the place of its sheets."""
    assert derivation.picture_id is not None, "derivation_has_what_it_made"
    for sheet in derivation.sheets.select_related("picture"):
        # A sheet that another kept picture set aside would come back with neither if this one did not claim it too.
        sheet.set_aside = sheet.picture.removed_at is None or _kept_of(sheet.picture).filter(set_aside=True).exists()
        sheet.save(update_fields=["set_aside"])
    Picture.objects.filter(pk__in=[sheet.pk for sheet in sheets], removed_at=None).update(removed_at=act.now)
    draft = derivation.hand_in
    if draft.pictures.filter(removed_at=None).count() >= MAX_PICTURES:
        raise Refused("too-many-pictures")
    Picture.objects.filter(pk=derivation.picture_id).update(removed_at=None, position=sheets[0].position)


def _let_go(derivation: Derivation, act: Act) -> None:
    """Take the made picture out again and bring back the sheets it stood for."""
    assert derivation.picture_id is not None, "derivation_has_what_it_made"
    built = _kept_of(derivation.picture).select_related("derivation__picture").first()
    if built is not None:
        raise Refused("built-upon", name=built.derivation.picture.file_name)
    Picture.objects.filter(pk=derivation.picture_id).update(removed_at=act.now)
    for sheet in derivation.sheets.filter(set_aside=True).select_related("picture"):
        if not _kept_of(sheet.picture).exclude(derivation=derivation).exists():
            Picture.objects.filter(pk=sheet.picture_id).update(removed_at=None)
    derivation.sheets.update(set_aside=False)


def _kept_of(picture: Picture | None) -> Any:
    return Sheet.objects.filter(picture=picture, derivation__state=DerivedState.KEPT)


def _put_away_given_up(draft: HandIn) -> None:
    """Let go of what the worker gave up: it is asked for no more, and asking again must begin anew."""
    given_up = Job.objects.filter(kind=jobs.DERIVE, state=JobState.FAILED).values("subject_id")
    asked = draft.derivations.filter(state=DerivedState.ASKED, pk__in=given_up)
    asked.update(state=DerivedState.DROPPED)


def _same_as_before(draft: HandIn, making: Making, pencil: str, sheets: Sequence[Picture]) -> Derivation | None:
    wanted = {sheet.pk for sheet in sheets}
    open_ones = draft.derivations.filter(
        making=making, pencil=pencil, state__in=[DerivedState.ASKED, DerivedState.MADE]
    ).prefetch_related("sheets")
    return next((one for one in open_ones if {sheet.picture_id for sheet in one.sheets.all()} == wanted), None)


def _with_sheets(derivation_id: int) -> tuple[Derivation, list[Picture]]:
    derivation = Derivation.objects.select_related("hand_in", "picture").get(pk=derivation_id)
    return derivation, [sheet.picture for sheet in derivation.sheets.select_related("picture").order_by("position")]


def _as_sheet(picture: Picture) -> SheetState:
    return SheetState(picture.file_name, PictureState(picture.state), picture.width_px or 0, picture.height_px or 0)


def _name_of(derivation: Derivation, sheets: Sequence[Picture]) -> str:
    if derivation.picture is not None:
        return derivation.picture.file_name
    return made_name(Making(derivation.making), [sheet.file_name for sheet in sheets])


def _recorded(derivation: Derivation, sheets: Sequence[Picture], passage: Passage) -> DerivedData:
    """Say for the ledger what is made from what."""
    return DerivedData(
        where=passage.where,
        derivation=derivation.pk,
        making=derivation.making,
        file_name=_name_of(derivation, sheets),
        sheets=[MadeFrom(picture=s.pk, file_name=s.file_name, sha256=s.sha256) for s in sheets],
    )
