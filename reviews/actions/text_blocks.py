"""Place the words of a spread on its pages, version by version."""

from __future__ import annotations

from collections.abc import Sequence

from reviews.actions._deed import deed_on
from reviews.actions._text_placing import weigh, write
from reviews.models import Seat, Spread, SpreadText
from reviews.press.text_blocks import TextBlock
from reviews.rules.states import Deed


def set_text(spread_id: int, blocks: Sequence[TextBlock], *, seen: int, actor: Seat) -> SpreadText:
    """Place the blocks of a spread anew, all of them; a block whose number is 0 gets its own.

    ``seen`` is the version the writer began from, 0 for none. After a sketch of the spread was approved it is a change
    of text, and both sides are told so: the first placing only where it brings words that no brief has, and a move only
    from ``MOVED_MM`` on.
    """
    with deed_on(Spread, spread_id, Deed.SET_TEXT, actor) as act:
        spread = Spread.objects.get(pk=spread_id)
        return write(weigh(spread, blocks, seen=seen, book=act.book), act)
