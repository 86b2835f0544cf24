"""Pictures made from sheets of a draft, as the draft's page and the review table show them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Prefetch
from django.urls import reverse

from reviews.models import Derivation, HandIn, Job, Picture, Sheet
from reviews.models.jobs import JobState
from reviews.pages.wording.jobs import error_words
from reviews.rules.derived import DerivedState, Making, listed_words, recipe_words
from reviews.rules.states import PictureState

# The name in jobs.py, on which no query may stand; a test holds the two together.
JOB_KIND = "derive"
_SHEETS = Prefetch("sheets", Sheet.objects.select_related("picture"))


def derived_rows(draft: HandIn | None) -> list[dict[str, Any]]:
    """Describe what is being made, waits for a choice, is kept or was dropped in a draft (3 queries)."""
    if draft is None:
        return []
    found = list(
        draft.derivations.exclude(state=DerivedState.DROPPED, picture=None)
        .select_related("picture")
        .prefetch_related(_SHEETS)
    )
    at_work = {job.subject_id: job for job in _jobs_of(one.pk for one in found if one.state == DerivedState.ASKED)}
    return [_row(one, at_work.get(one.pk)) for one in found]


def derived_state(derivation: Derivation) -> dict[str, Any]:
    """Say how far a derivation has come, for the page that waits for it (3 queries)."""
    row = _row(derivation, _jobs_of([derivation.pk]).first())
    return {key: row[key] for key in ("id", "state", "percent", "progress", "is_settled")}


def made_from(pictures: Iterable[Picture]) -> dict[int, dict[str, Any]]:
    """Tell of each picture that was made from sheets which they are and its recipe in words.

    Needs ``derivation`` joined: nothing is asked where no picture was made, else 2 queries.
    """
    made = [picture.pk for picture in pictures if hasattr(picture, "derivation")]
    if not made:
        return {}
    kept = Derivation.objects.filter(picture__in=made, state=DerivedState.KEPT).prefetch_related(_SHEETS)
    return {one.picture_id: _row(one, None) for one in kept}


def _jobs_of(derivations: Iterable[int]) -> Any:
    return Job.objects.filter(kind=JOB_KIND, subject_id__in=list(derivations))


def _row(derivation: Derivation, job: Job | None) -> dict[str, Any]:
    sheets = [sheet.picture for sheet in derivation.sheets.all()]
    names = [sheet.file_name for sheet in sheets]
    making, picture = Making(derivation.making), derivation.picture
    gave_up = job is not None and job.state == JobState.FAILED
    return {
        "id": derivation.pk,
        "state": DerivedState.FAILED.value if gave_up else derivation.state,
        "is_joined": making == Making.JOIN,
        "names": listed_words(names),
        "reason": error_words(job) if gave_up and job else derivation.reason,
        "percent": job.progress if job else 0,
        "progress": job.progress_words or "Waiting for its turn" if job else "",
        "recipe": recipe_words(making, names, derivation.recipe) if derivation.recipe else [],
        "sheets": [_sheet(sheet) for sheet in sheets],
        "picture": _sheet(picture) if picture else None,
        # Nothing more will come by itself: it was made and its picture read, or it could not be made.
        "is_settled": gave_up or (derivation.state != DerivedState.ASKED and _is_read(picture)),
        **{
            f"{word}_url": reverse("reviews:choose-derived", args=[derivation.pk, word])
            for word in ("keep", "drop", "again")
        },
        "state_url": reverse("reviews:derived-state", args=[derivation.pk]),
    }


def _is_read(picture: Picture | None) -> bool:
    return picture is None or picture.state != PictureState.RECEIVED


def _sheet(picture: Picture) -> dict[str, Any]:
    return {
        "id": picture.pk,
        "name": picture.file_name,
        "state": picture.state,
        "reason": picture.reason,
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "n_bytes": picture.n_bytes,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]) if picture.has_preview else None,
        "thumb_url": reverse("reviews:picture-thumb", args=[picture.pk]) if picture.has_preview else None,
        "original_url": reverse("reviews:picture-original", args=[picture.pk]),
    }
