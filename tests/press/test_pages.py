"""Pages and pieces: the published layouts of 32-page picture books, and what cannot be bound."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.pages import PieceKind, check_layout, join, lay_out, opening, single, split
from reviews.press.refused import CannotPrint


def labels(n_pages: int, ends: EndsKind) -> list[str]:
    return [piece.label for piece in lay_out(n_pages, BindingKind.CASE, ends)]


def test_self_ended_32_gives_ends_on_2_3_and_30_31():
    """Wendy Watson's layout of the self-ended book: 1 and 32 pasted down, 2-3 and 30-31 endpaper art."""
    laid = labels(32, EndsKind.SELF)
    assert laid[1] == "Front ends 2–3" and laid[-1] == "Back ends 30–31"
    assert laid[2] == "Pages 4–5" and laid[-2] == "Pages 28–29"
    assert len(laid) == 16


def test_separate_ends_32_gives_all_pages_to_the_book():
    """“The Indie Pages” layout: all 32 pages printable, 1 and 32 alone, 2-3 to 30-31 facing."""
    laid = lay_out(32, BindingKind.CASE, EndsKind.SEPARATE)
    assert [p.kind for p in laid].count(PieceKind.OPENING) == 15
    assert [p.label for p in laid if p.kind == PieceKind.SINGLE] == ["Page 1", "Page 32"]


@given(st.integers(4, 32), st.sampled_from([EndsKind.SELF, EndsKind.SEPARATE]))
def test_every_layout_is_valid_and_openings_start_even(quarter, ends):
    n_pages = quarter * 4
    laid = lay_out(n_pages, BindingKind.CASE, ends)
    check_layout(laid, n_pages)
    for piece in laid:
        if piece.kind == PieceKind.OPENING:
            assert piece.first_page % 2 == 0 and piece.last_page == piece.first_page + 1
    covered = [page for p in laid if p.first_page for page in range(p.first_page, p.last_page + 1)]
    whole = range(1, n_pages + 1) if ends == EndsKind.SEPARATE else range(2, n_pages)
    assert sorted(covered) == list(whole)


@pytest.mark.parametrize(
    ("n_pages", "ends"), [(30, EndsKind.SELF), (4, EndsKind.SEPARATE), (12, EndsKind.SELF), (132, EndsKind.SELF)]
)
def test_page_counts_that_cannot_be_bound_are_refused(n_pages, ends):
    with pytest.raises(CannotPrint):
        lay_out(n_pages, BindingKind.CASE, ends)


def test_splitting_and_joining_are_each_other_undone():
    left, right = split(opening(6))
    assert join(left, right, 32) == opening(6)


@pytest.mark.parametrize("left", [1, 3, 7])
def test_an_opening_cannot_start_on_a_right_hand_page(left):
    with pytest.raises(CannotPrint, match="join-right-hand"):
        join(single(left), single(left + 1), 32)


def test_the_last_page_stands_alone():
    with pytest.raises(CannotPrint):
        join(single(32), single(33), 32)


def test_pages_covered_twice_are_found():
    with pytest.raises(CannotPrint, match="page-twice"):
        check_layout([opening(4), single(5)], 32)


@pytest.mark.parametrize("n_pages", [10, 14, 18, 22, 30])
def test_a_board_book_begins_on_the_left_with_no_ends_and_no_lone_page(n_pages):
    """Printers of board books: page 1 on the back of the cover, 10 to 30 pages usual, no folded sections."""
    laid = lay_out(n_pages, BindingKind.BOARD, EndsKind.NONE)
    assert [piece.kind for piece in laid] == [PieceKind.COVER, *[PieceKind.OPENING] * (n_pages // 2)]
    assert laid[1].label == "Pages 1–2" and laid[-1].last_page == n_pages
    check_layout(laid, n_pages, first_is_left=True)
    with pytest.raises(CannotPrint, match="piece-not-facing"):
        check_layout(laid, n_pages)


def test_pages_of_a_board_book_join_from_the_left_and_to_the_very_last():
    left, right = split(opening(9))
    assert join(left, right, 10, first_is_left=True) == opening(9)
    with pytest.raises(CannotPrint, match="join-right-hand"):
        join(single(2), single(3), 10, first_is_left=True)


@pytest.mark.parametrize(
    ("binding", "n_pages"), [(BindingKind.PAPERBACK, 28), (BindingKind.STITCHED, 24), (BindingKind.STITCHED, 36)]
)
def test_paperback_and_stitched_books_have_no_endpapers(binding, n_pages):
    laid = lay_out(n_pages, binding, EndsKind.NONE)
    assert PieceKind.ENDS not in {piece.kind for piece in laid}
    assert [piece.first_page for piece in laid if piece.kind == PieceKind.SINGLE] == [1, n_pages]
    check_layout(laid, n_pages)


@pytest.mark.parametrize(
    ("n_pages", "binding", "ends", "code"),
    [
        (18, BindingKind.PAPERBACK, EndsKind.NONE, "cannot-be-folded"),
        (33, BindingKind.CASE, EndsKind.SEPARATE, "cannot-be-folded"),
        (15, BindingKind.BOARD, EndsKind.NONE, "odd-boards"),
        (14, BindingKind.BOARD, EndsKind.SELF, "ends-not-for-binding"),
        (32, BindingKind.STITCHED, EndsKind.SELF, "ends-not-for-binding"),
    ],
)
def test_what_cannot_be_bound_is_refused_with_its_reason(n_pages, binding, ends, code):
    with pytest.raises(CannotPrint, match=code):
        lay_out(n_pages, binding, ends)
