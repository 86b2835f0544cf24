"""The words of one page as a block of text: the one that stands there with other words, or a new one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from reviews.press.flats import Flat
from reviews.press.text_blocks import Face, TextAlign, TextBlock

#: Type for reading aloud: common practice for picture books is 16 to 24 pt with generous leading.
NEW_SIZE_PT, NEW_LEADING_PT = 18.0, 24.0
NEW_COLOUR = "#1a1a1a"
#: Our own: how far inside the safe area a new block begins, and the share of a page's height it begins with.
INSIDE_MM, SHARE_OF_HEIGHT = 7.0, 0.25


def on_page(blocks: Sequence[TextBlock], panel: int, flat: Flat) -> list[TextBlock]:
    """Name the blocks whose middle stands on one page of a piece, counted from 0 at the left."""
    page = flat.panels[panel]
    right = page.left_mm + page.width_mm
    is_last = panel == len(flat.panels) - 1
    return [
        block
        for block in blocks
        if page.left_mm <= (at := block.left_mm + block.width_mm / 2) and (at < right or is_last)
    ]


def reads_so(blocks: Sequence[TextBlock], words: str) -> bool:
    """Say whether blocks, one after the other, read as these words do, however they are spaced."""
    return " ".join(block.words for block in blocks).split() == words.split()


def new_on(panel: int, words: str, flat: Flat, language: str) -> TextBlock:
    """Begin a block at the top of a page, as wide as its safe area without the gutter allows."""
    page, inset = flat.panels[panel], flat.safety_mm + INSIDE_MM
    beside_fold = max(inset, flat.gutter_mm + INSIDE_MM)
    left = beside_fold if panel else inset
    right = beside_fold if panel < len(flat.panels) - 1 else inset
    return TextBlock(
        number=0, words=words, language=language, face=Face.SERIF, size_pt=NEW_SIZE_PT, leading_pt=NEW_LEADING_PT,
        align=TextAlign.LEFT, colour=NEW_COLOUR, left_mm=page.left_mm + left, top_mm=inset,
        width_mm=page.width_mm - left - right, height_mm=flat.height_mm * SHARE_OF_HEIGHT,
    )  # fmt: skip


def grown(block: TextBlock, below_mm: float, flat: Flat) -> TextBlock:
    """Make a new block as high as its words need, as far as its page's safe area goes."""
    most = flat.height_mm - flat.safety_mm - INSIDE_MM - block.top_mm
    return replace(block, height_mm=min(most, block.height_mm + max(0.0, below_mm)))
