"""Take placed text along when the pages under it are laid out anew; a part of that deed."""

from __future__ import annotations

from collections.abc import Sequence

from reviews.actions._deed import Act
from reviews.models import Spread, SpreadText
from reviews.queries.text_blocks import newest_texts
from reviews.rules.brief_payloads import TextAlong
from reviews.rules.text_layout import TextTaken, join_text, split_text


def take_text_along(old: Sequence[Spread], new: Sequence[Spread], act: Act) -> list[TextAlong]:
    """Place what stood on the old spreads on the new ones, as their first version, by whoever placed it last.

    Nobody has drawn to it yet, so it is no change of text. Nothing falls away: what crossed the fold lies on one page.
    """
    texts = newest_texts([spread.pk for spread in old])
    if not any(text.blocks for text in texts.values()):
        return []
    page_mm = float(act.book.trim_width_mm)
    blocks = [texts[spread.pk].blocks if spread.pk in texts else [] for spread in old]
    taken: Sequence[TextTaken] = (
        split_text(blocks[0], page_mm) if len(new) > len(old) else [join_text(blocks[0], blocks[1], page_mm)]
    )
    author = max(texts.values(), key=lambda text: text.set_at).set_by
    told: list[TextAlong] = []
    for spread, text in zip(new, taken, strict=True):
        if not text.blocks:
            continue
        row = SpreadText.objects.create(
            book=act.book, spread=spread, version=1, blocks=text.blocks, set_by=author, set_at=act.now
        )
        act.holds(row)
        told.append(
            TextAlong(spread=spread.label, spread_id=spread.pk, text=row.pk, blocks=text.blocks, shifted=text.shifted)
        )
    return told
