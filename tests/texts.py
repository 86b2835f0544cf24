"""Text placed on spreads of a test's book."""

from __future__ import annotations

from reviews.actions.text_blocks import set_text
from reviews.models import Passage, SpreadText
from reviews.press.text_blocks import Face, TextAlign, TextBlock
from reviews.queries.text_blocks import newest_text


def a_text_block(**changes) -> TextBlock:
    """One block on the left page of a 250 mm square book, inside its safe area."""
    fields = {
        "number": 0, "words": "Hush, said the tarn.", "language": "en", "face": Face.SERIF, "size_pt": 18.0,
        "leading_pt": 24.0, "align": TextAlign.LEFT, "colour": "#1a1a1a", "left_mm": 20.0, "top_mm": 20.0,
        "width_mm": 90.0, "height_mm": 40.0,
    }  # fmt: skip
    return TextBlock(**(fields | changes))


def placed(passage: Passage, *blocks: TextBlock, actor) -> SpreadText:
    """Place blocks on a passage's spread, over what stands."""
    last = newest_text(passage.spread)
    return set_text(passage.spread_id, blocks or (a_text_block(),), seen=last.version if last else 0, actor=actor)


def posted(*blocks: TextBlock, seen: int = 0, **more) -> dict[str, str]:
    """Write blocks as the form of the page posts them."""
    data = {"seen": str(seen), "block-TOTAL_FORMS": str(len(blocks)), "block-INITIAL_FORMS": "0"}
    for at, block in enumerate(blocks):
        for name in block.__dataclass_fields__:
            data[f"block-{at}-{name}"] = str(getattr(block, name))
    return data | more
