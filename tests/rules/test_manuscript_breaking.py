"""A manuscript broken over pages: by headings, page breaks, blank lines; moved; written and read again alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.rules.manuscript import (
    MOST_LETTERS,
    BreakMove,
    BrokenBy,
    BrokenText,
    PagesOfArt,
    as_text,
    break_over,
    moved,
)
from reviews.rules.states import Refused

#: A self-ended book of sixteen pages: ends, four openings, ends.
ART = [PagesOfArt(2, 3, is_inside=False), *(PagesOfArt(n, n + 1, is_inside=True) for n in (4, 6, 8, 10)),
       PagesOfArt(12, 13, is_inside=False)]  # fmt: skip
SINGLES = [PagesOfArt(1, 1, is_inside=True), PagesOfArt(2, 3, is_inside=True), PagesOfArt(4, 4, is_inside=True)]


@pytest.mark.parametrize(
    ("line", "page", "rest"),
    [
        ("Page 6", 6, ()),
        ("PAGES 6-7", 6, ()),
        ("pp. 6–7:", 6, ()),
        ("p. 7", 7, ()),
        ("[Page 6]", 6, ()),
        ("(pages 6/7)", 6, ()),
        ("**Page 6**", 6, ()),
        ("# Page 6", 6, ()),
        ("Pages 6 and 7", 6, ()),
        ("[6]", 6, ()),
        ("Spread 2", 6, ()),
        ("spread 2: The pail hung still.", 6, ("The pail hung still.",)),
        ("Page 6. The pail hung still.", 6, ("The pail hung still.",)),
        ("Page 6 – 5 otters swam", 6, ("5 otters swam",)),
    ],
)
def test_a_line_that_names_a_page_or_a_spread_begins_its_words(line, page, rest):
    broken = break_over(f"{line}\n\nTansy looked in.", ART)
    assert broken.by == BrokenBy.HEADINGS and broken.words == {page: (*rest, "Tansy looked in.")}
    assert broken.left_out == () and broken.remarks == ()


@pytest.mark.parametrize(
    "line",
    [
        "Page 6 was torn out.",
        "6",
        "6.",
        "Spreads of snow",
        "The page 6",
        "Pagesix 6",
        "[6] a footnote",
        "p 6 m",
        "Unplaced",
    ],
)
def test_a_line_that_only_speaks_of_one_is_a_line(line):
    broken = break_over(f"{line}\n\nTansy looked in.", ART)
    assert broken.by == BrokenBy.BLANK_LINES and broken.words == {4: (line,), 6: ("Tansy looked in.",)}


def test_a_heading_that_names_nothing_of_the_book_stays_in_the_text_and_is_told():
    broken = break_over("Page 4\nHush.\nPage 99\nNobody.\nSpread 5\nNeither.", ART)
    assert broken.words == {4: ("Hush.\nPage 99\nNobody.\nSpread 5\nNeither.",)}
    assert [one.values["line"] for one in broken.remarks] == ["Page 99", "Spread 5"]
    without = break_over("Page 98\nNobody.\n\nPage 99\nNeither.", ART)
    assert without.by == BrokenBy.BLANK_LINES and without.words == {4: ("Page 98\nNobody.",), 6: ("Page 99\nNeither.",)}
    assert [one.values["line"] for one in without.remarks] == ["Page 98", "Page 99"]


def test_what_stands_before_the_first_heading_is_left_out_and_nothing_is_lost():
    broken = break_over("Tansy\nby O. Grebe\n\nPage 8\nEight.\nPage 4\nFour.\nPage 8\nEight again.", ART)
    assert broken.left_out == ("Tansy\nby O. Grebe",)
    assert broken.words == {8: ("Eight.", "Eight again."), 4: ("Four.",)}
    assert [(one.code, one.values) for one in broken.remarks] == [("out-of-order", {"page": 4, "after": 8})]


def test_without_headings_page_breaks_give_each_spread_its_part():
    broken = break_over("One.\n\nAnd more.\fTwo.\fThree.", ART)
    assert broken.by == BrokenBy.PAGE_BREAKS
    assert broken.words == {4: ("One.", "And more."), 6: ("Two.",), 8: ("Three.",)}


def test_more_page_breaks_than_spreads_and_many_parts_are_shared_out_evenly_in_order():
    parts = [f"Part {n} of the text." for n in range(12)]
    for between in ("\f", "\n\n"):
        broken = break_over(between.join(parts), ART)
        assert broken.by == BrokenBy.BLANK_LINES
        assert [len(broken.words[page]) for page in (4, 6, 8, 10)] == [3, 3, 3, 3]
        assert [one for page in sorted(broken.words) for one in broken.words[page]] == parts


def test_lines_of_a_verse_stay_together_and_what_cannot_be_seen_goes():
    broken = break_over("\ufeffOver  the tarn\r\n\tand back\x00.\r\n \r\nHush.\u200b", ART)
    assert broken.words == {4: ("Over the tarn\nand back.",), 6: ("Hush.",)}


def test_no_words_and_too_many_are_refused():
    for empty in ("", " \n\f\n ", "\ufeff"):
        with pytest.raises(Refused, match="manuscript-empty"):
            break_over(empty, ART)
    with pytest.raises(Refused, match="manuscript-too-long"):
        break_over("a " * (MOST_LETTERS // 2) + "b", ART)


def test_a_book_without_pages_for_text_leaves_all_out():
    assert break_over("One.\n\nTwo.", []).left_out == ("One.", "Two.")


def test_a_break_moves_by_one_part_either_way_and_back_again():
    broken = break_over("Page 4\nA.\n\nB.\nPage 6\nC.", ART)
    on = moved(broken, BreakMove.ON, 4, ART)
    assert on.words == {4: ("A.",), 5: ("B.",), 6: ("C.",)}
    assert moved(on, BreakMove.BACK, 5, ART).words == broken.words
    assert moved(broken, BreakMove.BACK, 6, ART).words == {4: ("A.", "B."), 5: ("C.",)}


def test_what_is_left_out_goes_to_the_first_page_and_the_first_page_gives_back():
    broken = break_over("Title\n\nPage 2\nA.", ART)
    on = moved(broken, BreakMove.ON, 0, ART)
    assert (on.left_out, on.words) == ((), {2: ("Title", "A.")})
    assert moved(on, BreakMove.BACK, 2, ART).left_out == ("Title",)


def test_all_from_a_page_on_moves_by_one_piece_and_each_keeps_its_side():
    broken = break_over("Page 4\nA.\nPage 6\nB.\nPage 7\nC.", ART)
    assert moved(broken, BreakMove.ALL_ON, 6, ART).words == {4: ("A.",), 8: ("B.",), 9: ("C.",)}
    on = moved(break_over("Page 2\nA.\nPage 3\nB.", SINGLES), BreakMove.ALL_ON, 2, SINGLES)
    assert on.words == {4: ("A.", "B.")}
    on = moved(break_over("Page 1\nA.\nPage 3\nB.", SINGLES), BreakMove.ALL_ON, 1, SINGLES)
    assert on.words == {2: ("A.",), 4: ("B.",)}


@pytest.mark.parametrize(
    ("text", "move", "page", "code"),
    [
        ("Page 4\nA.", BreakMove.ON, 6, "manuscript-nothing-to-move"),
        ("Page 4\nA.", BreakMove.ON, 99, "manuscript-nothing-to-move"),
        ("Page 4\nA.", BreakMove.ALL_ON, 99, "manuscript-nothing-to-move"),
        ("Page 13\nA.", BreakMove.ON, 13, "manuscript-no-page-beyond"),
        ("[Unplaced]\nA.\nPage 4\nB.", BreakMove.BACK, 0, "manuscript-no-page-beyond"),
        ("Page 4\nA.\nPage 12\nB.", BreakMove.ALL_ON, 4, "manuscript-no-page-beyond"),
    ],
)
def test_a_move_that_cannot_be_is_refused(text, move, page, code):
    with pytest.raises(Refused, match=code):
        moved(break_over(text, ART), move, page, ART)


_WORDS = st.text("abcde fghij.,’é\n", min_size=1, max_size=40)


@given(
    text=st.lists(
        st.one_of(_WORDS, st.sampled_from(["Page 4", "pp. 6-7:", "Spread 3", "[Unplaced]", "Page 77", "\f", ""]))
    ),
    moves=st.lists(st.tuples(st.sampled_from(list(BreakMove)), st.integers(0, 13)), max_size=6),
)
def test_whatever_is_broken_and_moved_keeps_every_word_and_reads_again_as_it_was_written(text, moves):
    try:
        broken = break_over("\n".join(text), ART)
    except Refused as refused:
        assert refused.code == "manuscript-empty"
        return
    words = _counted(broken)
    headings = {"[Unplaced]", "Page", "4", "pp.", "6-7:", "Spread", "3"}
    assert [one for one in words if one not in headings] == sorted(
        one for one in " ".join(text).split() if one not in headings
    )
    for move, page in moves:
        try:
            broken = moved(broken, move, page, ART)
        except Refused:
            continue
        assert _counted(broken) == words
    if words:
        again = break_over(as_text(broken), ART)
        assert (again.words, again.left_out) == (broken.words, broken.left_out)


def _counted(broken: BrokenText) -> list[str]:
    every = [*broken.left_out, *(one for there in broken.words.values() for one in there)]
    return sorted(word for one in every for word in one.split())
