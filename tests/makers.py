"""Builders for tests: small books, small real pictures, hand-ins in one call."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw

from reviews.actions import hand_ins, pictures
from reviews.actions.books import NewBook
from reviews.models import HandIn, Passage, Seat
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.rules.contract.plans import READY_PLANS, PlannedStage
from reviews.rules.states import Gate, StageKind

# A short plan that has every kind of gate: answered by two voices, shown, hidden, answered by one.
SHORT_PLAN = (
    PlannedStage(kind=StageKind.IDEAS, gate=Gate.ANSWERS, hand_in_days=5, answer_days=3, rounds=1),
    PlannedStage(kind=StageKind.SKETCH, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=2, two_voices=True),
    PlannedStage(kind=StageKind.LINE, gate=Gate.SHOWN, hand_in_days=5, answer_days=0, rounds=0),
    PlannedStage(kind=StageKind.INK, gate=Gate.HIDDEN, hand_in_days=5, answer_days=0, rounds=0),
    PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=1),
)


def a_book(**changes) -> NewBook:
    """A small self-ended book: cover, ends, four openings."""
    fields = {
        "title": "The Otter Who Kept Time",
        "publisher": "Thimblereed Books",
        "n_pages": 16,
        "trim_width_mm": Decimal(250),
        "trim_height_mm": Decimal(250),
        "binding": BindingKind.CASE,
        "ends": EndsKind.SELF,
        "inside": SHORT_PLAN,
        "cover": READY_PLANS["cover"].stages,
        "start_on": date(2026, 11, 2),
    }
    return NewBook(**(fields | changes))


def a_jpeg(seed: int = 0, size: tuple[int, int] = (506, 256)) -> bytes:
    """A small real picture; another seed gives other bytes."""
    image = Image.new("RGB", size, (240, 236, 226))
    draw = ImageDraw.Draw(image)
    x = 20 + (seed * 37) % max(1, size[0] - 120)
    draw.ellipse((x, 40, x + 90, 160), outline=(40, 40, 40), width=4)
    draw.text((10, 10), f"picture {seed}", fill=(60, 60, 60))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()


def draft(passage: Passage, seat: Seat, seeds: Sequence[int] = (0,), *, ready: bool = True) -> HandIn:
    """Put pictures into the illustrator's draft, judged without running the engine."""
    picture = None
    for seed in seeds:
        data = a_jpeg(seed)
        upload = SimpleUploadedFile(f"idea {seed}.jpg", data, content_type="image/jpeg")
        picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=seat)
        if ready:
            pictures.picture_ready(picture.pk, width_px=506, height_px=256, facts={"kind": "jpeg"})
    assert picture is not None
    return HandIn.objects.get(pk=picture.hand_in_id)


def handed_in(passage: Passage, seat: Seat, seeds: Sequence[int] = (0,)) -> HandIn:
    """Draft and hand in."""
    return hand_ins.hand_in(draft(passage, seat, seeds).pk, cover_note="", actor=seat)
