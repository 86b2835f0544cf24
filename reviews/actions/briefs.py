"""Briefs: written by the publisher, version by version, with pictures beside them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.conf import settings
from django.db.models import Sum

from reviews import jobs, storage
from reviews.actions._deed import Act, ask_about, deed_on
from reviews.actions._drafts import MB
from reviews.actions._originals import hold_original
from reviews.models import Book, Brief, Reference, Seat, Spread
from reviews.queries.briefs import is_sketch_approved, newest_brief
from reviews.queries.store_turns import store_turn
from reviews.rules.brief_payloads import (
    AddReferencesData,
    ChangeBriefData,
    OfSpread,
    ReadReferenceData,
    ReferenceFile,
    RemoveReferenceData,
)
from reviews.rules.briefs import MOST_LETTERS, MOST_LINES, changes_of, lines_of, parts_for
from reviews.rules.states import Deed, PictureState, Refused, Sight

#: Pictures and PDFs beside one brief. Common practice: a handful; a mood board of twenty is looked at.
MOST_REFERENCES = 20


def change_brief(book_id: int, spread_id: int | None, parts: Mapping[str, str], *, seen: int, actor: Seat) -> Brief:
    """Write the next version of a brief; without a spread it is the book's.

    ``seen`` is the version the writer began from, 0 for none: what somebody else wrote meanwhile is not covered over.
    Written after a sketch it concerns was approved, it is told to everybody as a change of text or a new direction.
    """
    with deed_on(Book, book_id, Deed.CHANGE_BRIEF, actor) as act:
        spread = _spread(spread_id, act)
        last = newest_brief(act.book, spread)
        if (last.version if last else 0) != seen:
            raise Refused("brief-changed-meanwhile")
        said = _checked(parts, is_of_book=spread is None)
        before = last.parts if last else {}
        changes = changes_of(before, said)
        if not changes:
            raise Refused("brief-unchanged" if last else "brief-empty")
        told_as = sorted(changes) if last and is_sketch_approved(act.book, spread) else []
        brief = Brief.objects.create(
            book=act.book, spread=spread, version=seen + 1, parts=said, told_as=told_as,
            written_by=act.by, written_at=act.now,
        )  # fmt: skip
        act.holds(brief)
        act.record(
            ChangeBriefData(
                version=brief.version, brief=brief.pk, parts=said, told_as=[str(c) for c in told_as], **_about(spread)
            )
        )
    return brief


def add_references(book_id: int, spread_id: int | None, uploads: Sequence[Any], *, actor: Seat) -> list[Reference]:
    """Put files beside a brief: kept bit for bit, read in the background. All of them, or none.

    ``uploads`` are uploaded files that carry their ``sha256``.
    """
    ask_about(
        Book, book_id, Deed.ADD_REFERENCES, actor,
        lambda act: _check_room(_spread(spread_id, act), uploads, act),
    )  # fmt: skip
    for upload in uploads:
        with store_turn(upload.size):
            storage.keep_original(upload, upload.sha256)
    with deed_on(Book, book_id, Deed.ADD_REFERENCES, actor) as act:
        spread = _spread(spread_id, act)
        _check_room(spread, uploads, act)
        made = [_added(upload, spread, act) for upload in uploads]
        act.holds(*made)
        files = [ReferenceFile(reference=one.pk, file_name=one.file_name, sha256=one.sha256) for one in made]
        act.record(AddReferencesData(files=files, **_about(spread)))
    return made


def remove_reference(reference_id: int, *, actor: Seat) -> None:
    """Take a reference away from its brief. The file stays: what was asked by it was asked."""
    with deed_on(Reference, reference_id, Deed.REMOVE_REFERENCE, actor) as act:
        reference = Reference.objects.select_related("spread").get(pk=reference_id)
        if reference.removed_at is not None:
            act.void()
            return
        reference.removed_at = act.now
        reference.save(update_fields=["removed_at"])
        act.holds(reference)
        act.record(
            RemoveReferenceData(reference=reference.pk, file_name=reference.file_name, **_about(reference.spread))
        )


def reference_read(reference_id: int, *, code: str = "", values: Mapping[str, Any] | None = None) -> None:
    """Record that the portal read a reference, or with a ``code`` why it could not; a second time changes nothing."""
    with deed_on(Reference, reference_id, Deed.READ_REFERENCE, None) as act:
        reference = Reference.objects.select_related("spread").get(pk=reference_id)
        if reference.state != PictureState.RECEIVED:
            act.void()
            return
        reference.state = PictureState.REFUSED if code else PictureState.READY
        reference.reason_code, reference.reason_values = code, dict(values or {})
        reference.save(update_fields=["state", "reason_code", "reason_values"])
        payload = ReadReferenceData(
            reference=reference.pk, file_name=reference.file_name, verdict=reference.state, **_about(reference.spread)
        )
        if code:
            payload["code"] = code
        act.holds(reference)
        act.record(payload, sight=Sight.PUBLISHER)


def _added(upload: Any, spread: Spread | None, act: Act) -> Reference:
    with store_turn(upload.size):
        if not hold_original(upload.sha256):
            storage.keep_original(upload, upload.sha256)
    reference = Reference.objects.create(
        book=act.book, spread=spread, file_name=upload.name[-255:], sha256=upload.sha256, n_bytes=upload.size,
        state=PictureState.RECEIVED, added_by=act.by, added_at=act.now,
    )  # fmt: skip
    jobs.enqueue(jobs.REFERENCE, reference.pk)
    return reference


def _check_room(spread: Spread | None, uploads: Sequence[Any], act: Act) -> None:
    if not uploads:
        raise Refused("reference-missing")
    for upload in uploads:
        if getattr(upload, "refusal", None) is not None:
            raise upload.refusal
        if not upload.size:
            raise Refused("file-empty", name=upload.name)
    there = Reference.objects.filter(book=act.book, spread=spread, removed_at=None).count()
    if there + len(uploads) > MOST_REFERENCES:
        raise Refused("references-full", most=MOST_REFERENCES, there=there)
    # What was taken away counts by its weight, as in a draft: its bytes stay.
    kept = Reference.objects.filter(book=act.book, spread=spread).aggregate(n_bytes=Sum("n_bytes"))["n_bytes"] or 0
    if kept + sum(upload.size for upload in uploads) > settings.DRAFT_MAX_BYTES:
        raise Refused("references-too-heavy", used=kept // MB, most=settings.DRAFT_MAX_BYTES // MB)


def _spread(spread_id: int | None, act: Act) -> Spread | None:
    if spread_id is None:
        return None
    spread = Spread.objects.filter(pk=spread_id, book=act.book, removed_at=None).first()
    if spread is None:
        raise Refused("spread-elsewhere")
    return spread


def _checked(parts: Mapping[str, str], *, is_of_book: bool) -> dict[str, str]:
    """Keep the parts that this brief has, each line without the blanks at its end."""
    said: dict[str, str] = {}
    for part in parts_for(is_of_book=is_of_book):
        words = "\n".join(line.rstrip() for line in parts.get(part, "").splitlines()).strip()
        if len(words) > MOST_LETTERS:
            raise Refused("brief-too-long", most=MOST_LETTERS)
        if words:
            said[part.value] = words
    if len(lines_of(said)) > MOST_LINES:
        raise Refused("brief-too-many-lines", most=MOST_LINES)
    return said


def _about(spread: Spread | None) -> OfSpread:
    return {"spread": spread.label, "spread_id": spread.pk} if spread is not None else {}
