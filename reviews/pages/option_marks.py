"""What people said of the options of an idea, as the table shows it."""

from __future__ import annotations

from reviews.models import OptionMark, Passage, Picture, Seat
from reviews.pages.table_shapes import OnTableMark
from reviews.rules import permits
from reviews.rules.states import Deed, Role, StageKind


def with_marks(pictures: list[Picture], passage: Passage, seat: Seat) -> list[Picture]:
    """Attach option marks: the house sees all, a guest and sales only their own (1 query at the idea stage)."""
    role = Role(seat.role)
    marks: dict[int, list[OptionMark]] = {picture.pk: [] for picture in pictures}
    if passage.stage.kind == StageKind.IDEAS and permits.may(role, Deed.MARK_OPTION):
        rows = OptionMark.objects.select_related("seat__person").filter(picture__in=list(marks))
        for mark in rows if permits.sees(role, "option-marks") else rows.filter(seat=seat):
            marks[mark.picture_id].append(mark)
    for picture in pictures:
        picture.seen_marks = marks[picture.pk]
    return pictures


def marks_shown(picture: Picture, seat: Seat) -> list[OnTableMark]:
    """Shape the marks that were attached to a picture; one's own can be changed and taken back."""
    return [
        {"verdict": one.verdict, "author": one.seat.person.name, "why": one.why, "is_mine": one.seat_id == seat.pk}
        for one in picture.seen_marks
    ]
