"""The dummy as PDF: every opening in order, its picture and its text, and no more in memory than one page."""

from __future__ import annotations

import io
import tracemalloc

import pypdfium2
import pytest
from PIL import Image

from reviews.notices.dummy_paper import dummy_pdf
from reviews.notices.pdf_stream import broken, width_of
from reviews.notices.type import SERIF
from reviews.pages.dummy import Dummy, DummyArt, DummyOpening, DummyPages

WORDS = "The pail was full of moon, and Tansy carried it home without spilling a drop."


def jpeg(colour: tuple[int, int, int], size: tuple[int, int] = (500, 250), mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).convert(mode).save(out, "JPEG", quality=92)
    return out.getvalue()


def art(number: int, when: str = "newest approved") -> DummyArt:
    return DummyArt(
        picture=number, when=when, stage_name="Sketch", crop=(0, 0, 500, 250), width_px=500, height_px=250, fills=True
    )


def opening(number: int, *, lines=(), arts=None, **more) -> DummyOpening:
    pages = DummyPages(
        place="across", label=f"Pages {number}", x=0, width=500, lines=list(lines),
        arts=[art(number)] if arts is None else arts, **more,
    )  # fmt: skip
    return DummyOpening(number=number, name=f"Pages {number}", pages=[pages])


def dummy(*openings: DummyOpening) -> Dummy:
    return Dummy(openings=list(openings), page_width=250, page_height=250, n_words=0, seconds=0)


def made(book: Dummy, preview, when: str = "newest") -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(io.BytesIO(b"".join(dummy_pdf(book, "Tansy", when, preview, "Not final."))))


def words_on(page) -> str:
    return " ".join(page.get_textpage().get_text_range().split())


def middle_of(page) -> tuple[int, ...]:
    picture = page.render(scale=0.5).to_pil().convert("RGB")
    return picture.getpixel((picture.width // 2, picture.height // 3))


def test_every_opening_is_a_page_in_order_with_its_picture_and_its_words():
    colours = {1: (200, 40, 40), 2: (40, 160, 60)}
    document = made(dummy(opening(1, lines=[WORDS]), opening(2)), lambda number: jpeg(colours[number]))
    assert len(document) == 2
    assert WORDS in words_on(document[0]) and "Pages 1. Sketch" in words_on(document[0])
    assert "Tansy" in words_on(document[1]) and "Not final." in words_on(document[1])
    for page, colour in zip(document, colours.values(), strict=True):
        assert all(abs(found - wanted) < 12 for found, wanted in zip(middle_of(page), colour, strict=True))


def test_letters_beyond_ascii_can_be_read_and_copied():
    document = made(dummy(opening(1, lines=["Łódź: “Süße Nüsse”, Ωmega, Жук."])), lambda _: jpeg((9, 9, 9)))
    assert "Łódź: “Süße Nüsse”, Ωmega, Жук." in words_on(document[0])


def test_only_the_asked_pictures_are_shown_and_what_is_missing_is_said():
    book = dummy(
        opening(1, arts=[art(1, "newest")], no_approved="Nothing approved yet"),
        opening(2, arts=[], no_newest="No picture yet", no_approved="Nothing approved yet"),
    )
    asked: list[int] = []
    document = made(book, lambda number: asked.append(number) or jpeg((0, 0, 0)), "approved")
    assert asked == [] and "Nothing approved yet" in words_on(document[0])
    assert "No picture yet" in words_on(made(book, lambda _: jpeg((0, 0, 0)))[1])


@pytest.mark.parametrize("data", [None, b"", b"no picture", jpeg((1, 2, 3))[:100], jpeg((1, 2, 3), mode="CMYK")])
def test_a_picture_that_cannot_be_read_leaves_its_place_and_the_book_goes_on(data):
    document = made(dummy(opening(1), opening(2)), lambda number: data if number == 1 else jpeg((40, 160, 60)))
    assert "The picture could not be read." in words_on(document[0])
    assert middle_of(document[1])[1] > 120


def test_a_grey_picture_is_laid_down_as_it_is():
    assert middle_of(made(dummy(opening(1)), lambda _: jpeg((90, 90, 90), mode="L"))[0]) == (90, 90, 90)


def test_a_long_text_goes_on_and_loses_nothing():
    many = [f"Line {number} of a text that is far too long for one page." for number in range(120)]
    document = made(dummy(opening(1, lines=many), opening(2)), lambda _: jpeg((0, 0, 0)))
    told = " ".join(words_on(page) for page in document)
    assert all(line in told for line in many) and len(document) > 2
    assert "Pages 2" in words_on(document[len(document) - 1])


def test_memory_holds_one_picture_however_long_the_book_is():
    """Forty pictures of 2 MB each; all of them together would be 80 MB."""
    heavy = jpeg((120, 90, 60), (1600, 800)) + b"\0" * 2_000_000
    for number in (4, 40):
        book = dummy(*(opening(each) for each in range(1, number + 1)))
        tracemalloc.start()
        length = sum(len(part) for part in dummy_pdf(book, "Tansy", "newest", lambda _: bytes(bytearray(heavy)), ""))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert length > number * 2_000_000
        assert peak < 16_000_000, (number, peak)


def test_a_line_is_broken_where_it_does_not_fit_and_a_long_word_is_cut():
    lines = broken(f"{WORDS} {'m' * 200}", SERIF, 12, 200)
    assert all(width_of(line, SERIF, 12) <= 200 for line in lines)
    assert "".join(lines).replace(" ", "") == f"{WORDS} {'m' * 200}".replace(" ", "")
