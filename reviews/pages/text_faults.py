"""What speaks against the text over a picture: where it stands, and whether it can be read on the art beneath."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from reviews.models import Passage, Picture
from reviews.pages.table_shapes import TextOnArt
from reviews.pages.text_blocks import text_on
from reviews.pages.wording.press import source
from reviews.pages.wording.text_blocks import text_fault
from reviews.press.placing import PlacedPicture
from reviews.press.text_check import Box, FoundTextFault, ground_faults, placing_faults
from reviews.queries.frames import bears_text, placed_on
from reviews.queries.print_set_ups import print_of
from reviews.queries.text_blocks import newest_texts, set_blocks
from reviews.queries.text_grounds import JUDGED_STAGES, GroundKnown, ground_asked, grounds_known


@dataclass(frozen=True, kw_only=True)
class TextFaultTold:
    """One fault in words, with its places as shares of the picture."""

    words: str
    places: tuple[Box, ...]


@dataclass(frozen=True, kw_only=True)
class TextJudged:
    """The text over one picture; ``looked`` says what was looked at, and ``not_looked`` what was not, or nothing."""

    text: TextOnArt | None
    faults: tuple[TextFaultTold, ...]
    looked: str
    not_looked: str


def texts_judged(pairs: Iterable[tuple[Picture, Passage]]) -> dict[int, TextJudged]:
    """Judge the text over pictures, by picture; those without any are left out (1 query; 2 where text is placed)."""
    known_pairs = list(pairs)
    texts = newest_texts({passage.spread_id for _, passage in known_pairs if passage.has_text})
    laid = [(picture, passage, set_blocks(texts.get(passage.spread_id))) for picture, passage in known_pairs]
    laid = [one for one in laid if one[2]]
    asked = {picture.pk: ground_asked(picture, passage, blocks) for picture, passage, blocks in laid}
    known = grounds_known(asked.values())
    found = {}
    for picture, passage, blocks in laid:
        placed = placed_on(picture, passage)
        if placed is None or not bears_text(placed, passage):
            continue
        key = asked[picture.pk]
        ground = known.get(key) if key else None
        faults = [*placing_faults(placed.flat, blocks), *(ground_faults(ground.found) if ground else ())]
        found[picture.pk] = TextJudged(
            text=text_on(placed, blocks),
            faults=tuple(_told(fault, placed, passage) for fault in faults),
            looked=_looked(ground),
            not_looked=_not_looked(passage, ground),
        )
    return found


def _told(fault: FoundTextFault, placed: PlacedPicture, passage: Passage) -> TextFaultTold:
    own = print_of(passage.book).figures.text_contrast
    words = text_fault(fault, _("the printer’s own figure") if own is not None else source("wcag-text"))
    places = fault.places if fault.on_picture else tuple(_share(box, placed) for box in fault.places)
    return TextFaultTold(words=words, places=places)


def _share(box: Box, placed: PlacedPicture) -> Box:
    return placed.share_x(box[0]), placed.share_y(box[1]), placed.share_x(box[2]), placed.share_y(box[3])


def _looked(ground: GroundKnown | None) -> str:
    if ground is None:
        return _("Of its text: gutter band, safe area, whether it fits its blocks, letters the face lacks.")
    return _(
        "Of its text: gutter band, safe area, whether it fits its blocks, letters the face lacks, and its contrast "
        "with the art, measured on the picture as it is shown."
    )


def _not_looked(passage: Passage, ground: GroundKnown | None) -> str:
    if passage.stage.kind not in JUDGED_STAGES:
        return _("Whether the text can be read on the art is looked at from line on.")
    if ground is None:
        return _("Whether the text can be read on the art is not measured yet.")
    if any(one.off for one in ground.found):
        return _("A part of the text lies off this picture; there nothing was measured.")
    return ""
