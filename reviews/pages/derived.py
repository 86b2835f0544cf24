"""Pictures made from sheets of a draft, as the draft's page and the review table show them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypedDict

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.translation import gettext

from reviews.models import Derivation, HandIn, Job, Picture, Sheet
from reviews.models.jobs import JobState
from reviews.pages.wording.derived import head_words, listed_words, recipe_words, step_words
from reviews.pages.wording.jobs import error_sentence
from reviews.pages.wording.pictures import picture_reason, refusal_sentence
from reviews.rules.derived import DerivedState, Making
from reviews.rules.states import PictureState

# The name in jobs.py, on which no query may stand; a test holds the two together.
JOB_KIND = "derive"
_TO_POINT_AT = ("no-pencil", "points-at-paper", "points-at-ink")


class ShownSheet(TypedDict):
    """A picture of a draft: a sheet, or what was made from some."""

    id: int
    name: str
    state: str
    reason: str
    width_px: int | None
    height_px: int | None
    n_bytes: int
    preview_url: str | None
    thumb_url: str | None
    original_url: str


class DerivedProgress(TypedDict):
    """How far a picture is made: the answer to the script that waits for it."""

    id: int
    state: str
    percent: int
    progress: str
    is_settled: bool


class DerivedRow(DerivedProgress):
    """One picture that is made from sheets of a draft, with the ways on from it."""

    is_joined: bool
    is_page: bool
    head: dict[str, str]
    in_place: str
    names: str
    reason: str
    recipe: list[str]
    sheets: list[ShownSheet]
    picture: ShownSheet | None
    keep_url: str
    drop_url: str
    again_url: str
    state_url: str
    point_url: str


def derived_rows(draft: HandIn | None) -> list[DerivedRow]:
    """Describe what is being made, waits for a choice, is kept or was dropped in a draft (2 queries)."""
    if draft is None:
        return []
    found = _with_sheets(draft.derivations.exclude(state=DerivedState.DROPPED, picture=None))
    at_work = {job.subject_id: job for job in _jobs_of(one.pk for one in found if one.state == DerivedState.ASKED)}
    return [_row(one, sheets, at_work.get(one.pk)) for one, sheets in found.items()]


def derived_state(derivation: Derivation) -> DerivedProgress:
    """Say how far a derivation has come, for the page that waits for it (3 queries)."""
    sheets = [sheet.picture for sheet in derivation.sheets.select_related("picture")]
    row = _row(derivation, sheets, _jobs_of([derivation.pk]).first())
    return {
        "id": row["id"],
        "state": row["state"],
        "percent": row["percent"],
        "progress": row["progress"],
        "is_settled": row["is_settled"],
    }


def made_from(pictures: Iterable[Picture]) -> dict[int, DerivedRow]:
    """Tell of each picture that was made from sheets which they are and its recipe in words.

    Needs ``derivation`` joined: nothing is asked where no picture was made, else 1 query.
    """
    made = [picture.pk for picture in pictures if hasattr(picture, "derivation")]
    if not made:
        return {}
    kept = _with_sheets(Derivation.objects.filter(picture__in=made, state=DerivedState.KEPT))
    return {one.picture_id: _row(one, sheets, None) for one, sheets in kept.items() if one.picture_id is not None}


def _with_sheets(derivations: QuerySet[Derivation]) -> dict[Derivation, list[Picture]]:
    """Fetch derivations in their order, each with its sheets, of which it has one at least (1 query)."""
    rows = Sheet.objects.filter(derivation__in=derivations).select_related("derivation__picture", "picture")
    found: dict[Derivation, list[Picture]] = {}
    for sheet in rows.order_by("derivation", "position"):
        found.setdefault(sheet.derivation, []).append(sheet.picture)
    return found


def _jobs_of(derivations: Iterable[int]) -> Any:
    return Job.objects.filter(kind=JOB_KIND, subject_id__in=list(derivations))


def _row(derivation: Derivation, sheets: Sequence[Picture], job: Job | None) -> DerivedRow:
    names = [sheet.file_name for sheet in sheets]
    making, picture = Making(derivation.making), derivation.picture
    gave_up = job is not None and job.state == JobState.FAILED
    return {
        "id": derivation.pk,
        "state": DerivedState.FAILED.value if gave_up else derivation.state,
        "is_joined": making == Making.JOIN,
        "is_page": making == Making.PAGE,
        "head": (head := head_words(making, names)),
        "in_place": gettext("In the draft, in place of {what}").format(what=head["kept"]),
        "names": listed_words(names),
        "reason": error_sentence(job.error) if gave_up and job else _reason(derivation),
        "percent": job.progress if job else 0,
        "progress": step_words(job.progress_step) if job else "",
        "recipe": recipe_words(making, names, derivation.recipe) if derivation.recipe else [],
        "sheets": [_sheet(sheet) for sheet in sheets],
        "picture": _sheet(picture) if picture else None,
        # Nothing more will come by itself: it was made and its picture read, or it could not be made.
        "is_settled": gave_up or (derivation.state != DerivedState.ASKED and _is_read(picture)),
        "keep_url": reverse("reviews:choose-derived", args=[derivation.pk, "keep"]),
        "drop_url": reverse("reviews:choose-derived", args=[derivation.pk, "drop"]),
        "again_url": reverse("reviews:choose-derived", args=[derivation.pk, "again"]),
        "state_url": reverse("reviews:derived-state", args=[derivation.pk]),
        "point_url": _point_url(derivation, sheets),
    }


def _point_url(derivation: Derivation, sheets: Sequence[Picture]) -> str:
    """Lead on where no pencil was found, or where none lay at the point; "" elsewhere."""
    if derivation.reason_code not in _TO_POINT_AT:
        return ""
    return reverse("reviews:point-at-pencil", args=[sheets[0].pk])


def _reason(derivation: Derivation) -> str:
    return refusal_sentence(derivation.reason_code, derivation.reason_values)


def _is_read(picture: Picture | None) -> bool:
    return picture is None or picture.state != PictureState.RECEIVED


def _sheet(picture: Picture) -> ShownSheet:
    return {
        "id": picture.pk,
        "name": picture.file_name,
        "state": picture.state,
        "reason": picture_reason(picture),
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "n_bytes": picture.n_bytes,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]) if picture.has_preview else None,
        "thumb_url": reverse("reviews:picture-thumb", args=[picture.pk]) if picture.has_preview else None,
        "original_url": reverse("reviews:picture-original", args=[picture.pk]),
    }
