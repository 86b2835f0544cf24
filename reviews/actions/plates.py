"""Tell what a plate of a special finish is for, have it measured, and keep what was found."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from reviews import jobs
from reviews.actions._deed import deed_on
from reviews.actions._drafts import sight_of
from reviews.actions.clock import moment
from reviews.models import Book, Passage, Picture, PlateCheck, PlateTold, Seat
from reviews.press.finish import Finish, Metal, PlateWay
from reviews.queries.access import may_see_picture
from reviews.queries.comparisons import approved_before
from reviews.queries.plates import PLATE_METHOD, PlateAsked, plate_asked, plates_at
from reviews.rules.print_payloads import TellPlateData
from reviews.rules.states import Deed, Gate, HandInState, Refused, Sight


def tell_plate(
    picture_id: int, *, finish: Finish, way: PlateWay, metal: Metal | None, channel: int | None = None, actor: Seat
) -> PlateTold:
    """Say what a plate is for; it is bound to the art that stands approved now, and measured against it.

    ``channel`` names a spot channel of the art's own file: that is bound to its file, approved or not. Raises Refused
    for what is no plate of somebody who may tell, and where no art stands approved under a picture of its own.
    """
    with deed_on(Picture, picture_id, Deed.TELL_PLATE, actor) as act:
        picture = Picture.objects.select_related("hand_in__by").get(pk=picture_id)
        passage = act.passage(picture.hand_in.passage_id)
        plate = next((one for one in plates_at(picture, passage) if one.channel == channel), None)
        is_open = picture.hand_in.state in {HandInState.DRAFT, HandInState.HANDED_IN} and picture.removed_at is None
        if plate is None or not is_open or not may_see_picture(picture, act.by):
            raise Refused("no-plate")
        art = picture if plate.is_channel else approved_before(passage)
        if art is None:
            raise Refused("no-art-for-plate")
        row = PlateTold.objects.filter(picture=picture, channel=channel).first()
        row = row or PlateTold(picture=picture, channel=channel, channel_name=plate.name)
        was = (row.art_id, row.finish, row.way, row.metal)
        row.art, row.finish, row.way = art, finish.value, way.value
        row.metal = metal.value if metal and finish == Finish.FOIL else ""
        if was == (art.pk, row.finish, row.way, row.metal):
            raise Refused("nothing-changed")
        row.told_by, row.told_at = act.by, act.now
        row.save()
        ask_for_plate(row, picture, passage)
        act.holds(row)
        payload = TellPlateData(
            where=passage.where, picture=picture.pk, file_name=picture.file_name, sha256=picture.sha256,
            art=art.pk, art_sha256=art.sha256, finish=row.finish, way=row.way, metal=row.metal,
            channel=row.channel, plate=row.channel_name, number=plate.number,
        )  # fmt: skip
        act.record(payload, passage=passage, sight=_sight(picture, passage))
    return row


def _sight(picture: Picture, passage: Passage) -> Sight:
    """Name who may know what a plate is for: whoever may see what it is handed in with."""
    if picture.hand_in.state != HandInState.HANDED_IN:
        return sight_of(picture.hand_in)
    return Sight.ILLUSTRATOR if passage.stage.gate == Gate.HIDDEN else Sight.ALL


def ask_for_plate(told: PlateTold, picture: Picture, passage: Passage) -> None:
    """Have a plate measured against the art it is bound to, once; part of telling it."""
    asked = plate_asked(picture, passage, told)
    if asked is None:
        return
    row, _ = PlateCheck.objects.get_or_create(
        sha256=asked.sha256, art_sha256=asked.art_sha256, finish=asked.finish, laid=asked.laid, method=PLATE_METHOD
    )
    if row.result is None:
        jobs.enqueue(jobs.PLATE_CHECK, row.pk)


def ask_for_plates_of(picture: Picture) -> None:
    """Have the plates measured that a picture is, or is the art of, and that were told before it was read."""
    for told in _with_places(PlateTold.objects.filter(Q(picture=picture) | Q(art=picture))):
        ask_for_plate(told, told.picture, told.picture.hand_in.passage)


def ask_for_plates_again(book: Book) -> None:
    """Have the plates of a book measured where they lie now; part of setting how it is printed."""
    for told in _with_places(PlateTold.objects.filter(picture__hand_in__passage__book=book)):
        passage = told.picture.hand_in.passage
        passage.book = book
        ask_for_plate(told, told.picture, passage)


def ask_for_plates_nobody_asked_for() -> int:
    """Have every told plate measured that nobody has asked a measurement of; say how many (2 queries where none is)."""
    checks = PlateCheck.objects.filter(method=PLATE_METHOD)
    known = {PlateAsked(*row) for row in checks.values_list("sha256", "art_sha256", "finish", "laid")}
    n_asked = 0
    rows = PlateTold.objects.filter(picture__removed_at=None).exclude(picture__hand_in__state=HandInState.WITHDRAWN)
    for told in _with_places(rows).iterator(chunk_size=500):
        passage = told.picture.hand_in.passage
        asked = plate_asked(told.picture, passage, told)
        if asked is None or asked in known:
            continue
        with transaction.atomic():
            ask_for_plate(told, told.picture, passage)
        known.add(asked)
        n_asked += 1
    return n_asked


def _with_places(rows: QuerySet[PlateTold]) -> QuerySet[PlateTold]:
    """Join to plates told where each lies and where its art lies."""
    joined = (f"{one}__hand_in__passage__{place}" for one in ("picture", "art") for place in ("spread", "stage"))
    return rows.select_related("picture__hand_in__passage__book__print_set_up", *joined)


def keep_plate(check_id: int, result: dict[str, Any]) -> None:
    """Keep what was measured. No deed of anyone's: the same files always give the same."""
    PlateCheck.objects.filter(pk=check_id, result__isnull=True).update(result=result, made_at=moment())
