"""What hinders the work behind a picture, a letter, an invitation: told where people look, not in a log alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from reviews.models import Comparison, HandIn, Job, Letter, Notice, Passage
from reviews.models.jobs import JobState
from reviews.rules.states import Deed, HandInState

# Names of jobs.py, on which no query may stand; a test holds the two together.
READING, COMPARING, PAPER, INVITING, MAILING = "renditions", "compare", "letter-paper", "invitation", "mail"
PROOFING = "soft-proof"


@dataclass(frozen=True)
class Trouble:
    """Why something has not come yet, as the job keeps it: still being tried, or given up."""

    error: Mapping[str, Any]
    is_given_up: bool


def troubles(kind: str, subjects: Iterable[int]) -> dict[int, Trouble]:
    """Say, by subject, what hinders the work of one kind; nothing where all goes well (1 query)."""
    return {job.subject_id: _trouble(job) for job in _hindered().filter(kind=kind, subject_id__in=list(subjects))}


def comparing_trouble(passage: Passage) -> Trouble | None:
    """Say what hinders the comparisons of the newest hand-in of a passage (2 queries)."""
    return _worst(_hindered().filter(kind=COMPARING, subject_id__in=comparisons_for(passage)))


def draft_trouble(draft: HandIn) -> Trouble | None:
    """Say what hinders the comparisons of a draft's pictures (1 query)."""
    contents = draft.pictures.filter(removed_at=None).values("sha256")
    waiting = Comparison.objects.filter(result__isnull=True, sha256_b__in=contents).values("pk")
    return _worst(_hindered().filter(kind=COMPARING, subject_id__in=waiting))


def comparisons_for(passage: Passage) -> list[int]:
    """Name the comparisons that the pictures of a passage wait for (1 query)."""
    shown = passage.hand_ins.filter(state=HandInState.HANDED_IN, pictures__removed_at=None)
    return list(
        Comparison.objects.filter(result__isnull=True, sha256_b__in=shown.values("pictures__sha256")).values_list(
            "pk", flat=True
        )
    )


def letter_troubles(letter: Letter) -> list[Trouble]:
    """Say what hinders a sent letter's PDF, and the mails that tell of it (3 queries)."""
    paper = None if letter.paper else _worst(_hindered().filter(kind=PAPER, subject_id=letter.pk))
    mails = _worst(_hindered().filter(kind=MAILING, subject_id__in=unsent_mails_of(letter)))
    return [one for one in (paper, mails) if one is not None]


def unsent_mails_of(letter: Letter) -> list[int]:
    """Name the notices of a letter whose mail has not left (1 query)."""
    told = Notice.objects.filter(entry__book=letter.book_id, entry__deed=Deed.SEND_LETTER, sent_at=None)
    return list(told.filter(entry__data__letter=letter.pk).values_list("pk", flat=True))


def _hindered() -> QuerySet[Job]:
    is_waiting = Q(state__in=[JobState.QUEUED, JobState.RUNNING]) & ~Q(error={})
    return Job.objects.filter(Q(state=JobState.FAILED) | is_waiting)


def _worst(jobs: Iterable[Job]) -> Trouble | None:
    found = sorted(map(_trouble, jobs), key=lambda one: not one.is_given_up)
    return found[0] if found else None


def _trouble(job: Job) -> Trouble:
    return Trouble(job.error, job.state == JobState.FAILED)
