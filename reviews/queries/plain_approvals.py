"""The passages that "approve all" may approve: opened in this version, and nothing found or left to decide."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping, Sequence
from typing import Any

from reviews.models import Book, Comparison, LetterAnswer, Note, OpenedTable, Passage, Picture
from reviews.queries.last_notes import LastNote, unsent_and_last
from reviews.queries.letters import objections_to
from reviews.rules.decisions import LookedAt, may_approve_unasked
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import PassageState, Reach, StageKind, Weighing

NOTHING_FOUND = "nothing-found"  # the one remark that says so, and only says so with evidence
WITHOUT_COLOURS = "colours-not-compared"  # what was kept earlier may carry both: then half was not looked for
FOR_PRINT = frozenset({StageKind.FINISH}) | PRINTERS_STAGES


def plain_passages(book: Book) -> list[int]:
    """List the passages that may be approved without a further look, in page order (7 queries)."""
    passages = list(
        Passage.objects.live()
        .select_related("stage", "hand_in", "pending")
        .filter(book=book, state=PassageState.ANSWERING, hand_in__isnull=False)
        .order_by("spread__position", "stage__position")
    )
    answers = LetterAnswer.objects.filter(letter__book=book, letter__sent_at=None)
    answered = set(answers.values_list("passage_id", flat=True))
    unsent, last = unsent_and_last(passages)
    handed = [passage.hand_in_id for passage in passages]
    files: dict[int, list[str]] = {}
    rows = Picture.objects.filter(hand_in__in=handed, removed_at=None)
    for hand_in, sha256 in rows.values_list("hand_in_id", "sha256"):
        files.setdefault(hand_in, []).append(sha256)
    opened = set(OpenedTable.objects.filter(hand_in__in=handed).values_list("hand_in_id", flat=True))
    seen = looked_at(passages, unsent, last, files=files, objected=objections_to(handed), opened=opened)
    return [
        passage.pk
        for passage in passages
        if may_approve_unasked(
            passage.as_standing(next_is_closed=False), seen[passage.pk], is_answered=passage.pk in answered
        )
    ]


def looked_at(
    passages: Sequence[Passage],
    unsent: Sequence[Note],
    last: Mapping[int, list[LastNote]],
    *,
    files: Mapping[int, list[str]],
    objected: Container[int],
    opened: Container[int | None],
) -> dict[int, LookedAt]:
    """Gather what is known of the hand-ins that wait, by passage (1 query).

    ``files`` are the fingerprints of each hand-in's pictures, ``objected`` the hand-ins the second voice is against,
    ``opened`` those that lay open on somebody's table.
    """
    changed = _places_changed([sha256 for own in files.values() for sha256 in own])
    n_unsent = Counter(note.passage_id for note in unsent)
    on_book = [note for note in unsent if note.reach == Reach.BOOK and note.weighing == Weighing.THROUGH]
    found = {}
    for passage in passages:
        own = files.get(passage.hand_in_id or 0, [])
        counts = [changed.get(sha256, 0) for sha256 in own]
        found[passage.pk] = LookedAt(
            n_pictures=len(own),
            # One on the book asks on each spread it is about, and would go with the approval.
            n_unsent_notes=n_unsent[passage.pk]
            + sum(note.passage_id != passage.pk and note.is_about(passage.spread_id) for note in on_book),
            n_unmet_notes=sum(not note.is_met for note in last.get(passage.pk, [])),
            n_changed=None if None in counts else sum(n or 0 for n in counts),
            is_opened=passage.hand_in_id in opened,
            is_objected=passage.hand_in_id in objected,
            is_for_print=passage.stage.kind in FOR_PRINT,
        )
    return found


def _places_changed(sha256s: Sequence[str]) -> dict[str, int | None]:
    """Count by content the places found to differ from an earlier version (1 query).

    None where it is not known: one is not compared yet, or nothing is marked and that rests on no evidence of its own
    (not surely aligned, partly compared, by an older method). Of a pair compared twice the newest counts.
    """
    newest: dict[tuple[str, str], dict[str, Any] | None] = {}
    rows = Comparison.objects.filter(sha256_b__in=sha256s).order_by("pk")
    for sha256_a, sha256_b, result in rows.values_list("sha256_a", "sha256_b", "result"):
        newest[sha256_a, sha256_b] = result
    found: dict[str, int | None] = {}
    for (_, sha256), result in newest.items():
        before, n = found.get(sha256, 0), _count(result)
        found[sha256] = None if n is None or before is None else before + n
    return found


def _count(result: dict[str, Any] | None) -> int | None:
    """Count the places of one comparison; that there are none counts only with its evidence."""
    if result is None:
        return None
    codes = {remark["code"] for remark in result.get("remarks", [])}
    is_evident = NOTHING_FOUND in codes and WITHOUT_COLOURS not in codes
    return len(result["changes"]) or (0 if is_evident else None)
