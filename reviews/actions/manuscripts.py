"""Place a whole manuscript: the words of many pages, each as the next version of its spread's text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from reviews.actions._deed import deeds_on
from reviews.actions._text_placing import Placing, flat_of, weigh, write
from reviews.models import Book, Seat, Spread, SpreadText
from reviews.press.page_blocks import grown, new_on, on_page, reads_so
from reviews.press.text_blocks import TextBlock
from reviews.press.text_text import blocks_from_text
from reviews.queries.faces import lines_of
from reviews.queries.text_blocks import pieces_of_text, texts_of
from reviews.rules.manuscript import paragraphs_joined
from reviews.rules.states import Deed, Refused
from reviews.rules.text_blocks import MOST_LETTERS


def place_manuscript(
    book_id: int,
    words_of: Mapping[int, Sequence[str]],
    *,
    seen: Mapping[int, int],
    language: str = "en",
    actor: Seat,
) -> list[SpreadText]:
    """Give pages their words, all of them or none; say which spreads have a new version.

    ``words_of`` are paragraphs by page number, ``seen`` the version of each spread's text that the writer began from.
    A page with one block gets its words into that block, which keeps its place and type; one without gets a new block;
    one with several is refused, as nobody can know which is meant. What already reads so stays as it is, and so do
    pages that are not named. One mail tells of all of it.
    """
    with deeds_on(Book, book_id, actor) as acts:
        stand = texts_of(acts.book)
        placings = []
        for spread in pieces_of_text(acts.book):
            text = stand.get(spread.pk)
            before = blocks_from_text(text.blocks) if text else ()
            after = _with_words(before, words_of, spread, acts.book, language)
            if after != list(before):
                placings.append(_weighed(spread, after, seen.get(spread.pk, 0), acts.book))
        if not placings:
            raise Refused("nothing-changed")
        made = []
        for n, placing in enumerate(placings):
            with acts.deed(Deed.SET_TEXT) as act:
                others: list[Placing] = placings[1:] if n == 0 else []
                made.append(write(placing, act, with_it=others, is_told=n == 0))
    return made


def _weighed(spread: Spread, blocks: Sequence[TextBlock], seen: int, book: Book) -> Placing:
    """Weigh one of many spreads: what speaks against it says where (``on_spread``)."""
    try:
        return weigh(spread, blocks, seen=seen, book=book)
    except Refused as refused:
        raise Refused(refused.code, **refused.values, on_spread=spread.label) from refused


def _with_words(
    before: Sequence[TextBlock], words_of: Mapping[int, Sequence[str]], spread: Spread, book: Book, language: str
) -> list[TextBlock]:
    """Give the blocks of a spread once its pages have their words."""
    assert spread.first_page is not None and spread.last_page is not None
    after = list(before)
    for panel, page in enumerate(range(spread.first_page, spread.last_page + 1)):
        words = paragraphs_joined(words_of.get(page, ()))
        if not words:
            continue
        if len(words) > MOST_LETTERS:
            raise Refused("manuscript-page-too-long", page=page, most=MOST_LETTERS)
        flat = flat_of(spread, book)
        there = on_page(after, panel, flat)
        if there and reads_so(there, words):
            continue
        if len(there) > 1:
            raise Refused("manuscript-several-blocks", page=page, n=len(there))
        if there:
            after[after.index(there[0])] = replace(there[0], words=words)
        else:
            fresh = new_on(panel, words, flat, language)
            after.append(grown(fresh, lines_of(fresh).below_mm, flat))
    return after
