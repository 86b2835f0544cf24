"""AVIF: a picture stored as a grid of cells is one picture; several pictures are pages, the primary one first."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from PIL import Image

from reviews.imaging.decode import check, read_rgb
from reviews.imaging.files.heif_items import pictures_in
from reviews.imaging.results import Refusal
from tests.imaging.avif_grids import avif_grid
from tests.imaging.picture_files import SIZE, far_from, quarters, shades_of
from tests.imaging.test_opening import facts_of, pixels_of


@pytest.mark.parametrize("whole_last", [False, True])
@pytest.mark.parametrize("is_hidden", [False, True])
def test_a_grid_of_cells_is_one_picture(whole_last: bool, is_hidden: bool, tmp_path: Path) -> None:
    path = tmp_path / "grid.avif"
    path.write_bytes(avif_grid(quarters(), 2, 2, whole_last=whole_last, is_hidden=is_hidden))
    facts = facts_of(path)
    assert (facts.kind, facts.n_pages, facts.width_px, facts.height_px) == ("AVIF", 1, *SIZE)
    assert far_from(shades_of(pixels_of(path))) <= 6
    second = check(path, page=1)
    assert isinstance(second, Refusal)
    assert second.code == "no-such-page"


def test_pictures_that_stand_beside_each_other_stay_pages(tmp_path: Path) -> None:
    path = tmp_path / "moving.avif"
    quarters().save(path, "AVIF", quality=95)
    assert facts_of(path).n_pages == 1
    # Without a grid nothing is a cell: what a decoder lists is what there is.
    assert pictures_in(path, 1) == (0,)
    assert pictures_in(path, 3) == (0, 1, 2), "where the boxes say something else than the decoder, it is believed"


def test_a_list_of_items_that_cannot_be_read_hides_no_page(tmp_path: Path) -> None:
    path, data = tmp_path / "broken.avif", avif_grid(quarters(), 2, 2)
    at = data.index(b"iref")
    path.write_bytes(data[:at] + b"free" + data[at + 4 :])
    assert pictures_in(path, 5) == (0, 1, 2, 3, 4)
    path.write_bytes(data[:40])
    assert pictures_in(path, 5) == (0, 1, 2, 3, 4)


def test_a_page_of_a_grid_is_read_whole_at_any_size(tmp_path: Path) -> None:
    path = tmp_path / "grid.avif"
    path.write_bytes(avif_grid(quarters(), 1, 4, whole_last=True))
    small = read_rgb(path, 160)
    assert not isinstance(small, Refusal)
    assert small.shape == (100, 160, 3)
    assert far_from(shades_of(small)) <= 6
    assert Image.fromarray(small).size == (160, 100)


def test_an_item_without_content_hides_no_page(tmp_path: Path) -> None:
    path = tmp_path / "empty-item.avif"
    entry = struct.pack(">I4s", 8, b"infe")
    listed = struct.pack(">I4sIH", 14 + len(entry), b"iinf", 0, 1) + entry
    path.write_bytes(struct.pack(">I4sI", 12 + len(listed), b"meta", 0) + listed)
    assert pictures_in(path, 3) == (0, 1, 2)
