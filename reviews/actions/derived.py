"""Pictures made from sheets of a draft: ask for one, write down what became of it, keep it or drop it.

What is made stands outside the hand-in (``removed_at``) until it is kept; then its sheets stand outside, and only what
is kept is handed in. The bytes of both stay, and the recipe names the sheets by their SHA-256.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import F, Max

from reviews import jobs
from reviews.actions._deed import Act, deed_on, deeds_on
from reviews.actions._drafts import check_room, draft_picture, own_draft, sight_of
from reviews.actions._originals import hold_original
from reviews.actions.comparisons import compare_draft
from reviews.actions.jobs import Claim, settle_job
from reviews.models import Derivation, HandIn, Job, Passage, Picture, Sheet
from reviews.models.jobs import JobState
from reviews.models.seats import Seat
from reviews.rules.derived import (
    PAGED_KINDS,
    Choice,
    DerivedState,
    Making,
    Pencil,
    SheetState,
    check_asked,
    made_name,
    page_options,
    pages_named,
    state_after,
    stroke_options,
    turn_options,
)
from reviews.rules.payload_shapes import (
    ChooseDerivedData,
    DerivedData,
    DerivePictureData,
    MadeFrom,
    MakeDerivedData,
)
from reviews.rules.states import Deed, HandInState, PictureState, Refused

MAX_PICTURES = 20


def make_derived(
    hand_in_id: int,
    making: Making,
    picture_ids: Sequence[int],
    *,
    pencil: Pencil | None = None,
    turning: tuple[int, Sequence[int]] = (0, (0, 0, 0, 0)),
    stroke: tuple[float, float] | None = None,
    actor: Seat,
) -> Derivation:
    """Ask for a picture to be made from sheets of the actor's draft; the worker makes it.

    Asked twice for the same of the same sheets, it is the same one. What could not be made before is put away.
    ``turning`` counts quarters clockwise, and what is then cut from each side in per cent; ``stroke`` points at a
    stroke of the pencil that is to go, in per cent from the left and from the top.
    """
    with deed_on(HandIn, hand_in_id, Deed.MAKE_DERIVED, actor) as act:
        draft = own_draft(hand_in_id, act)
        passage = act.passage(draft.passage_id)
        sheets = list(draft.pictures.filter(removed_at=None, pk__in=picture_ids).order_by("position", "pk"))
        if len(sheets) != len(set(picture_ids)):
            raise Refused("sheet-gone")
        check_asked(making, [_as_sheet(sheet) for sheet in sheets])
        wanted = pencil.value if pencil and making == Making.INK else ""
        options = stroke_options(*stroke) if stroke and making == Making.INK else {}
        if making == Making.TURN:
            options = turn_options(*turning, sheets[0].facts.get("mode", ""))
        _put_away_given_up(draft)
        same = _same_as_before(draft, making, wanted, sheets, options)
        if same is not None:
            act.void()
            return same
        check_room(draft)
        Derivation.objects.filter(hand_in=draft, state=DerivedState.FAILED).update(state=DerivedState.DROPPED)
        derivation = Derivation(hand_in=draft, making=making, pencil=wanted, options=options)
        _ask_for(derivation, sheets, passage, act)
    return derivation


def take_pages(picture_id: int, words: str, *, actor: Seat) -> list[int]:
    """Have pages of a PDF or TIFF made pictures of the draft, in place of the file; say which.

    ``words`` names them, "1-3, 5"; all are meant where none is named. The file stays as it is, behind its pages.
    """
    with deeds_on(Picture, picture_id, actor) as acts:
        taken: list[int] = []
        with acts.deed(Deed.MAKE_DERIVED) as act:
            picture = draft_picture(picture_id, act)
            taken = _pages_asked(picture, words)
            _put_away_given_up(picture.hand_in)
            _make_room(picture, len(taken))
            act.void()
        for page in taken:
            with acts.deed(Deed.MAKE_DERIVED) as act:
                check_room(picture.hand_in)
                options = page_options(page, picture.facts["kind"])
                derivation = Derivation(hand_in=picture.hand_in, making=Making.PAGE, options=options)
                _ask_for(derivation, [picture], act.passage(picture.hand_in.passage_id), act)
    return taken


def _pages_asked(picture: Picture, words: str) -> list[int]:
    n_pages = picture.facts.get("n_pages", 1)
    check_asked(Making.PAGE, [_as_sheet(picture)])
    if n_pages < 2 or picture.facts.get("kind") not in PAGED_KINDS:
        raise Refused("one-page", name=picture.file_name)
    pages = pages_named(words, n_pages)
    pending = picture.sheet_of.filter(
        derivation__making=Making.PAGE, derivation__state__in=[DerivedState.ASKED, DerivedState.MADE]
    )
    under_way = {sheet.derivation.options["page"] for sheet in pending.select_related("derivation")}
    left = [page for page in pages if page not in under_way]
    n_kept = picture.hand_in.pictures.filter(removed_at=None).count() - 1
    if n_kept + len(under_way) + len(left) > MAX_PICTURES:
        raise Refused("too-many-pages-taken", n=len(left), most=MAX_PICTURES)
    return left


def _make_room(picture: Picture, n_pages: int) -> None:
    """Move on what comes after a file, so that its pages stand where it stood, in their order."""
    later = picture.hand_in.pictures.filter(position__gt=picture.position)
    later.update(position=F("position") + max(0, n_pages - 1))


def _ask_for(derivation: Derivation, sheets: Sequence[Picture], passage: Passage, act: Act) -> None:
    derivation.state, derivation.asked_at = DerivedState.ASKED, act.now
    derivation.save()
    Sheet.objects.bulk_create(
        Sheet(derivation=derivation, picture=sheet, position=n) for n, sheet in enumerate(sheets, start=1)
    )
    jobs.enqueue(jobs.DERIVE, derivation.pk)
    payload = MakeDerivedData(**_recorded(derivation, sheets, passage))
    act.record(payload, passage=passage, sight=sight_of(derivation.hand_in))


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
        if derivation.making == Making.PAGE and not is_late and _has_room(hand_in, sheets[0]):
            # Nothing was judged in making it: the page is what was asked for, so it stands in the draft at once.
            _take_in(derivation, sheets, act)
            _in_page_order(derivation, sheets[0])
            derivation.state = DerivedState.KEPT
            derivation.save(update_fields=["state"])
            picture.refresh_from_db()
        passage = act.passage(hand_in.passage_id)
        payload: DerivePictureData = {**_recorded(derivation, sheets, passage), "verdict": "made"}
        payload |= {"picture": picture.pk, "sha256": sha256, "recipe": recipe}
        act.holds(picture)
        act.record(payload, passage=passage, sight=sight_of(derivation.hand_in))


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
        act.record(payload, passage=passage, sight=sight_of(derivation.hand_in))


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
        act.record(payload, passage=passage, sight=sight_of(derivation.hand_in))
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


def _has_room(draft: HandIn, sheet: Picture) -> bool:
    others = draft.pictures.filter(removed_at=None).exclude(pk=sheet.pk)
    return others.count() < MAX_PICTURES


def _in_page_order(derivation: Derivation, sheet: Picture) -> None:
    """Two workers finish pages in any order: a page stands as far behind its file's place as pages come before it."""
    wanted = sheet.sheet_of.filter(
        derivation__making=Making.PAGE,
        derivation__state__in=[DerivedState.ASKED, DerivedState.MADE, DerivedState.KEPT],
    ).select_related("derivation")
    before = sum(one.derivation.options["page"] < derivation.options["page"] for one in wanted)
    assert derivation.picture_id is not None, "derivation_has_what_it_made"
    Picture.objects.filter(pk=derivation.picture_id).update(position=sheet.position + before)


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


def _same_as_before(
    draft: HandIn, making: Making, pencil: str, sheets: Sequence[Picture], options: dict[str, Any]
) -> Derivation | None:
    wanted = {sheet.pk for sheet in sheets}
    open_ones = draft.derivations.filter(
        making=making, pencil=pencil, state__in=[DerivedState.ASKED, DerivedState.MADE]
    ).prefetch_related("sheets")
    return next(
        (
            one
            for one in open_ones
            if one.options == options and {sheet.picture_id for sheet in one.sheets.all()} == wanted
        ),
        None,
    )


def _with_sheets(derivation_id: int) -> tuple[Derivation, list[Picture]]:
    derivation = Derivation.objects.select_related("hand_in__by", "picture").get(pk=derivation_id)
    return derivation, [sheet.picture for sheet in derivation.sheets.select_related("picture").order_by("position")]


def _as_sheet(picture: Picture) -> SheetState:
    return SheetState(picture.file_name, PictureState(picture.state), picture.width_px or 0, picture.height_px or 0)


def _name_of(derivation: Derivation, sheets: Sequence[Picture]) -> str:
    if derivation.picture is not None:
        return derivation.picture.file_name
    return made_name(Making(derivation.making), [sheet.file_name for sheet in sheets], derivation.options)


def _recorded(derivation: Derivation, sheets: Sequence[Picture], passage: Passage) -> DerivedData:
    """Say for the ledger what is made from what."""
    return DerivedData(
        where=passage.where,
        derivation=derivation.pk,
        making=derivation.making,
        file_name=_name_of(derivation, sheets),
        sheets=[MadeFrom(picture=s.pk, file_name=s.file_name, sha256=s.sha256) for s in sheets],
    )
