"""Blocks of text as plain values, the way they are stored and told in the ledger."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reviews.press.text_blocks import Face, TextAlign, TextBlock


def blocks_to_text(blocks: Sequence[TextBlock]) -> list[dict[str, Any]]:
    """Write blocks, in their order; lengths in mm to the hundredth, sizes in pt."""
    return [
        {
            "number": block.number,
            "words": block.words,
            "language": block.language,
            "face": block.face.value,
            "size_pt": round(block.size_pt, 2),
            "leading_pt": round(block.leading_pt, 2),
            "align": block.align.value,
            "colour": block.colour,
            "box": [round(mm, 2) for mm in (block.left_mm, block.top_mm, block.width_mm, block.height_mm)],
        }
        for block in blocks
    ]


def blocks_from_text(text: Sequence[Mapping[str, Any]]) -> tuple[TextBlock, ...]:
    """Read blocks; a face that is no longer at hand is read as the serif."""
    known = {face.value: face for face in Face}
    return tuple(
        TextBlock(
            number=int(one["number"]),
            words=one["words"],
            language=one["language"],
            face=known.get(one["face"], Face.SERIF),
            size_pt=float(one["size_pt"]),
            leading_pt=float(one["leading_pt"]),
            align=TextAlign(one["align"]),
            colour=one["colour"],
            left_mm=float(one["box"][0]),
            top_mm=float(one["box"][1]),
            width_mm=float(one["box"][2]),
            height_mm=float(one["box"][3]),
        )
        for one in text
    )
