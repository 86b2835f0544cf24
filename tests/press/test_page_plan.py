"""Page plans: every page once, openings that face, sections that fold, and refusals with their reason."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.press.page_plan import ENDS_OF, BindingKind, Caution, EndsKind, page_plan
from reviews.press.refused import CannotPrint

PAPER = [(b, e) for b, ends in ENDS_OF.items() if b != BindingKind.BOARD for e in ends]


@given(st.integers(4, 32), st.sampled_from(PAPER))
def test_every_page_of_a_paper_book_has_one_place(quarter, how):
    plan = page_plan(quarter * 4, *how)
    pages = [*plan.pasted, *plan.singles, *(p for pair in (*plan.ends, *plan.openings) for p in pair)]
    assert sorted(pages) == list(range(1, plan.n_pages + 1))
    assert all(left % 2 == 0 and right == left + 1 for left, right in plan.openings)
    assert sum(section.n_pages for section in plan.sections) == plan.n_pages


@given(st.integers(3, 20))
def test_every_opening_of_a_board_book_is_one_flat_board(half):
    plan = page_plan(half * 2, BindingKind.BOARD, EndsKind.NONE)
    assert plan.flat_openings == plan.openings
    assert [p for pair in plan.openings for p in pair] == list(range(1, plan.n_pages + 1))


def test_sections_of_a_sewn_book_and_their_centres():
    plan = page_plan(40, BindingKind.CASE, EndsKind.SEPARATE)
    assert [section.n_pages for section in plan.sections] == [16, 16, 8]
    assert plan.flat_openings == ((8, 9), (24, 25), (36, 37))


def test_a_stitched_book_is_one_section():
    plan = page_plan(28, BindingKind.STITCHED, EndsKind.NONE)
    assert plan.flat_openings == ((14, 15),)
    assert plan.cautions == ()


def test_cautions_name_what_wants_the_printers_word():
    assert page_plan(68, BindingKind.STITCHED, EndsKind.NONE).cautions == (Caution.THICK_STITCH,)
    assert page_plan(32, BindingKind.BOARD, EndsKind.NONE).cautions == (Caution.MANY_BOARDS,)
    assert page_plan(16, BindingKind.PAPERBACK, EndsKind.NONE).cautions == (Caution.THIN_SPINE,)


@pytest.mark.parametrize(
    ("n_pages", "binding", "ends", "code"),
    [
        (33, BindingKind.CASE, EndsKind.SEPARATE, "cannot-be-folded"),
        (30, BindingKind.STITCHED, EndsKind.NONE, "cannot-be-folded"),
        (12, BindingKind.CASE, EndsKind.SELF, "too-few-for-self-ends"),
        (4, BindingKind.CASE, EndsKind.SEPARATE, "pages-out-of-range"),
        (132, BindingKind.CASE, EndsKind.SEPARATE, "pages-out-of-range"),
        (11, BindingKind.BOARD, EndsKind.NONE, "odd-boards"),
        (44, BindingKind.BOARD, EndsKind.NONE, "boards-out-of-range"),
        (16, BindingKind.BOARD, EndsKind.SELF, "ends-not-for-binding"),
        (0, BindingKind.PAPERBACK, EndsKind.NONE, "pages-out-of-range"),
    ],
)
def test_what_cannot_be_bound_is_refused_with_its_reason(n_pages, binding, ends, code):
    with pytest.raises(CannotPrint) as refused:
        page_plan(n_pages, binding, ends)
    assert refused.value.code == code


def test_a_refusal_names_the_counts_that_fold():
    with pytest.raises(CannotPrint) as refused:
        page_plan(33, BindingKind.CASE, EndsKind.SEPARATE)
    assert (refused.value.values["below"], refused.value.values["above"]) == (32, 36)
