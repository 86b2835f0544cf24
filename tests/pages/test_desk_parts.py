"""A long desk is cut into parts, and nothing of it is lost."""

from dataclasses import dataclass

import pytest

from reviews.pages.desk_parts import FEW_BOOKS, N_BOOKS, N_MINE, N_OTHERS, parts_of


@dataclass
class Stub:
    """As much of a desk as is cut."""

    mine: list
    others: list
    books: list


def stub(n_books: int) -> Stub:
    return Stub(mine=list(range(3 * n_books)), others=list(range(n_books)), books=list(range(n_books)))


def test_a_few_books_stand_on_one_page_whole():
    parts = parts_of(stub(FEW_BOOKS), {"mine": "2"})
    assert (parts.mine.rows, parts.mine.before, parts.mine.after) == (list(range(3 * FEW_BOOKS)), None, None)
    assert not parts.is_long


@pytest.mark.parametrize("n_books", [FEW_BOOKS + 1, 20, 200])
def test_every_row_of_many_books_stands_in_one_part_and_in_order(n_books):
    desk = stub(n_books)
    for word, whole, size in (
        ("mine", desk.mine, N_MINE),
        ("others", desk.others, N_OTHERS),
        ("books", desk.books, N_BOOKS),
    ):
        read, number = [], 1
        while number:
            part = getattr(parts_of(desk, {word: str(number)}), word)
            assert len(part.rows) <= size and part.total == len(whole)
            assert (part.first, part.last) == (len(read) + 1, len(read) + len(part.rows))
            read += part.rows
            number = part.after
        assert read == whole


@pytest.mark.parametrize("odd", ["", "0", "-1", "99", "x", "³", "9" * 40])
def test_a_part_that_is_not_there_is_the_first(odd):
    assert parts_of(stub(20), {"mine": odd}).mine.first == 1
