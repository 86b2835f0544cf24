"""What the worker found out about a picture, written down by the portal itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reviews.actions._deed import deed_on
from reviews.actions._drafts import sight_of
from reviews.actions.comparisons import compare_draft
from reviews.actions.plates import ask_for_plates_of
from reviews.actions.print_checks import ask_for_inks
from reviews.actions.text_grounds import ask_for_ground
from reviews.models import Picture
from reviews.rules.payload_shapes import ReadPictureData
from reviews.rules.states import Deed, PictureState


def show_preview(picture_id: int, *, width_px: int, height_px: int) -> None:
    """Say that a first picture is there, before the tiles are.

    No ledger entry: nothing about the book changes, a wait has become shorter.
    """
    Picture.objects.filter(pk=picture_id, state=PictureState.RECEIVED).update(
        has_preview=True, width_px=width_px, height_px=height_px
    )


def keep_colours(sha256: str, colours: Sequence[tuple[str, float]]) -> None:
    """Write down the main colours of every picture of this content that was read before they were looked for.

    No ledger entry: nothing about the book changes, the wall shows more of it.
    """
    for picture in Picture.objects.filter(sha256=sha256, state=PictureState.READY).exclude(facts__has_key="colours"):
        Picture.objects.filter(pk=picture.pk).update(facts=picture.facts | {"colours": [list(one) for one in colours]})


def keep_new_facts(sha256: str, *, size_px: tuple[int, int], facts: Mapping[str, Any]) -> None:
    """Write down what a newer reading says of every picture of this content.

    No ledger entry: nothing about the book changes, it is shown as its file means it. `made_again` tells apart what is
    kept in memory of its tiles (`queries.pictures`).
    """
    for picture in Picture.objects.filter(sha256=sha256, state=PictureState.READY):
        again = {"made_again": picture.facts.get("made_again", 0) + 1}
        rows = Picture.objects.filter(pk=picture.pk)
        rows.update(facts={**picture.facts, **facts, **again}, width_px=size_px[0], height_px=size_px[1])


def picture_ready(picture_id: int, *, width_px: int, height_px: int, facts: dict[str, Any]) -> None:
    """Record that a picture was read; doing it again changes nothing."""
    with deed_on(Picture, picture_id, Deed.READ_PICTURE, None) as act:
        picture = Picture.objects.select_related("hand_in__by").get(pk=picture_id)
        if picture.state != PictureState.RECEIVED:
            act.void()
            return
        picture.state = PictureState.READY
        picture.has_preview = True
        picture.width_px, picture.height_px, picture.facts = width_px, height_px, facts
        picture.save(update_fields=["state", "has_preview", "width_px", "height_px", "facts"])
        passage = act.passage(picture.hand_in.passage_id)
        payload = ReadPictureData(where=passage.where, picture=picture.pk, file_name=picture.file_name, verdict="ready")
        act.holds(picture)
        act.record(payload, passage=passage, sight=sight_of(picture.hand_in))
        compare_draft(picture.hand_in, passage)
        ask_for_inks(picture, passage)
        ask_for_plates_of(picture)
        ask_for_ground(picture, passage)


def picture_refused(picture_id: int, *, code: str, values: Mapping[str, Any]) -> None:
    """Record that a picture could not be read, and why."""
    with deed_on(Picture, picture_id, Deed.READ_PICTURE, None) as act:
        picture = Picture.objects.select_related("hand_in__by").get(pk=picture_id)
        if picture.state != PictureState.RECEIVED:
            act.void()
            return
        picture.state = PictureState.REFUSED
        picture.reason_code, picture.reason_values = code, dict(values)
        picture.save(update_fields=["state", "reason_code", "reason_values"])
        passage = act.passage(picture.hand_in.passage_id)
        payload = ReadPictureData(
            where=passage.where,
            picture=picture.pk,
            file_name=picture.file_name,
            verdict="refused",
            code=code,
            values=dict(values),
        )
        act.holds(picture)
        act.record(payload, passage=passage, sight=sight_of(picture.hand_in))
