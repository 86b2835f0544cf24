"""A picture as it will lie on its page: with the guides over it, and each fault where it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.urls import reverse

from reviews.models import Passage, Picture
from reviews.pages.guides import GuideShape, shapes_on
from reviews.pages.gutter import GutterShown, gutter_on
from reviews.pages.table_shapes import TextOnArt
from reviews.pages.text_faults import TextJudged, texts_judged
from reviews.pages.wording import press
from reviews.press.file_check import FoundFault, Weight
from reviews.press.text_check import Box
from reviews.queries.file_faults import FileChecked, check_picture, is_checked
from reviews.queries.print_checks import ink_asked, inks_known

_ORDER = {Weight.STOPPER: 0, Weight.CAUTION: 1, Weight.REMARK: 2}


@dataclass(frozen=True, kw_only=True)
class FaultShown:
    """One fault: how bad, in words, and its places in the picture's pixels."""

    weight: str
    weight_words: str
    words: str
    places: tuple[GuideShape, ...]


@dataclass(frozen=True, kw_only=True)
class OnPage:
    """One picture on its page. ``looked`` says what was looked at; no faults vouches for no more than that."""

    id: int
    name: str
    preview_url: str
    width_px: int
    height_px: int
    guides: tuple[GuideShape, ...]
    faults: tuple[FaultShown, ...]
    looked: str
    not_looked: tuple[str, ...]
    n_stoppers: int
    text: TextOnArt | None
    gutter: GutterShown | None

    @property
    def view(self) -> str:
        return f"0 0 {self.width_px} {self.height_px}"

    @property
    def places(self) -> list[GuideShape]:
        return [place for fault in self.faults for place in fault.places]


def on_pages(pictures: Sequence[Picture], passage: Passage) -> list[OnPage]:
    """Lay the pictures of one hand-in on their page (1 query where a file carries inks, else none)."""
    return [row for _, row in pages_of([(picture, passage) for picture in pictures])]


def pages_of(pairs: Iterable[tuple[Picture, Passage]]) -> list[tuple[Passage, OnPage]]:
    """Lay pictures of several passages on their pages; leaves out what cannot be judged (at most 1 query)."""
    judged = [(picture, passage) for picture, passage in pairs if is_checked(picture, passage)]
    asked = [ink_asked(picture, passage) for picture, passage in judged]
    known, texts = inks_known(asked), texts_judged(judged)
    shown = []
    for (picture, passage), one in zip(judged, asked, strict=True):
        checked = check_picture(picture, passage, known.get(one) if one else None)
        shown.append((passage, _shown(picture, passage, checked, texts.get(picture.pk))))
    return shown


def _shown(picture: Picture, passage: Passage, checked: FileChecked, text: TextJudged | None) -> OnPage:
    width, height = picture.width_px or 1, picture.height_px or 1
    faults = sorted(checked.report.faults, key=lambda fault: _ORDER[fault.weight])
    return OnPage(
        id=picture.pk,
        name=picture.file_name,
        preview_url=reverse("reviews:picture-preview", args=[picture.pk]),
        width_px=width,
        height_px=height,
        guides=tuple(shapes_on(checked.placed, width, height)),
        faults=tuple(_fault(fault, width, height) for fault in faults) + _of_text(text, width, height),
        looked=" ".join(filter(None, (text.looked if text else "", press.looked_at(checked.report, checked.told)))),
        not_looked=tuple(str(press.NOT_LOOKED[code]) for code in checked.report.not_looked)
        + ((text.not_looked,) if text and text.not_looked else ()),
        text=text.text if text else None,
        gutter=gutter_on(checked.placed, passage),
        n_stoppers=sum(fault.weight == Weight.STOPPER for fault in faults),
    )


def _of_text(text: TextJudged | None, width: int, height: int) -> tuple[FaultShown, ...]:
    """Show the faults of the text after those of the file: each wants a look, none keeps a file from print."""
    weight = Weight.CAUTION
    return tuple(
        FaultShown(
            weight=weight.value,
            weight_words=str(press.WEIGHTS[weight]),
            words=fault.words,
            places=_places(weight, fault.places, width, height),
        )
        for fault in (text.faults if text else ())
    )


def _places(weight: Weight, boxes: Iterable[Box], width: int, height: int) -> tuple[GuideShape, ...]:
    return tuple(
        GuideShape(
            weight.value,
            round(x0 * width, 1),
            round(y0 * height, 1),
            round((x1 - x0) * width, 1),
            round((y1 - y0) * height, 1),
        )
        for x0, y0, x1, y1 in boxes
    )


def _fault(fault: FoundFault, width: int, height: int) -> FaultShown:
    return FaultShown(
        weight=fault.weight.value,
        weight_words=str(press.WEIGHTS[fault.weight]),
        words=press.fault(fault),
        places=_places(fault.weight, fault.places, width, height),
    )
