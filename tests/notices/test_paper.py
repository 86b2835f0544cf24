"""The letter as a PDF."""

import io

import pypdfium2
import pytest
from PIL import Image

from reviews import storage
from reviews.actions import letters
from reviews.actions.jobs import claim_job
from reviews.geometry import region_from_json
from reviews.imaging.marked_crop import LONGEST_PX, RED, cut_marked_place
from reviews.models import Job, Letter
from reviews.notices.letter_paper import letter_pdf
from reviews.notices.type import printable
from reviews.pages.letter_pages import letter_page
from reviews.rules.crops import crop_around
from reviews.rules.states import Role
from reviews.tasks.paper import make_paper, paper_of
from tests.actions.test_whole_notes import whole
from tests.cast import gather
from tests.letter_scene import ELSEWHERE, answered, pinned, sent
from tests.makers import a_book, handed_in


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return " ".join(page.get_textpage().get_text_range() for page in document).replace("\r\n", " ")
    finally:
        document.close()


@pytest.fixture
def letter(db) -> Letter:
    cast = gather(a_book(title="Die Füchsin – “née” Ősz"))
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    pinned(ideas, cast.editor, "Turn her head <here> & there.")
    held = pinned(ideas, cast.production, "Frankly dull.", region=ELSEWHERE)
    letters.weigh_note(held.pk, weighing="held", actor=cast.art_director)
    letters.word_letter(cast.book.pk, "Dear Juniper,\nwhat light!", actor=cast.art_director)
    answered(cast, ideas, "ask")
    return sent(cast)


def test_a_note_on_the_whole_says_on_paper_what_it_is_about(db):
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [2])
    whole(ideas, cast.editor, "The scarf is blue throughout.")
    whole(ideas, cast.editor, "Fewer words in these.", pages="4-7", cause="text")
    whole(ideas, cast.art_director, "Warmer light.", reach="spread")
    pinned(ideas, cast.editor, "Turn her head.")
    answered(cast, ideas, "ask")
    said = " ".join(text_of(letter_pdf(letter_page(sent(cast), Role.ILLUSTRATOR), {})).split())
    for words in (
        "The scarf is blue throughout. A new direction, on the whole book",
        "Fewer words in these. The text changed, on 2 spreads of the book",
        "Warmer light. A new direction, on the whole spread",
    ):
        assert words in said
    assert said.count("on the whole book") == 1, "the note on a place is not about the book"
    assert "Turn her head." in said


def test_the_paper_says_what_the_letter_says_and_no_more(letter):
    said = text_of(letter_pdf(letter_page(letter, Role.ILLUSTRATOR), {}))
    for words in (
        "Letter 1",
        "Corvin Mallowe",
        "Juniper Aldersea",
        "what light!",
        "Turn her head <here> & there.",
        "Pages 4–5, ideas",
        "Uses round 1 of the 1 in the fee.",
        "The next version is due on",
        "What it costs",
        "Counted by the stage plans, since no terms were entered.",
        "the signed contract decides",
    ):
        assert words in said
    assert "Frankly dull." not in said


def test_the_same_letter_gives_the_same_bytes(letter):
    page = letter_page(letter, Role.ILLUSTRATOR)
    assert letter_pdf(page, {}) == letter_pdf(page, {})


@pytest.mark.parametrize(
    "words", ["“é” – ü €", "Příliš žluťoučký kůň", "Őszi ég", "Żółw", "Φεγγάρι", "Луна в ведре", "Şığırcık"]
)
def test_the_letters_of_europe_are_kept_on_paper(letter, words):
    assert printable(words) == words
    letter.words = words
    assert words in text_of(letter_pdf(letter_page(letter, Role.ILLUSTRATOR), {}))


def test_an_accent_apart_from_its_letter_is_joined_to_it_and_what_cannot_be_set_is_marked():
    assert printable("O\u030bsz") == "Ősz"
    assert printable("ḁ") == "a"
    assert printable("月\n") == "?\n"


def test_the_job_makes_the_paper_once_and_keeps_it(letter):
    job = Job.objects.get(kind="letter-paper", subject_id=letter.pk)
    make_paper(claim_job(job.pk))
    letter.refresh_from_db()
    assert storage.read_all(letter.paper).startswith(b"%PDF-")
    name = letter.paper
    assert paper_of(Letter.objects.get(pk=letter.pk)) == storage.read_all(name)


def test_a_long_letter_runs_over_several_pages(db):
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    for n in range(40):
        pinned(ideas, cast.editor, f"Thought {n}. " + "More words about it. " * 12)
    answered(cast, ideas, "ask")
    pdf = letter_pdf(letter_page(sent(cast), Role.ILLUSTRATOR), {})
    document = pypdfium2.PdfDocument(pdf)
    n_pages = len(document)
    document.close()
    assert n_pages > 2
    said = text_of(pdf)
    assert all(f"Thought {n}." in said for n in range(40))


def grey(size=(2048, 1024)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (128, 128, 128)).save(out, "JPEG")
    return out.getvalue()


def n_red(image: Image.Image) -> int:
    return sum(
        count
        for count, (r, g, b) in image.getcolors(1 << 24)
        if abs(r - RED[0]) < 30 and abs(g - RED[1]) < 40 and abs(b - RED[2]) < 40
    )


@pytest.mark.parametrize(
    "region",
    [
        {"kind": "point", "points": [[0.5, 0.5]]},
        {"kind": "point", "points": [[0.0, 1.0]]},
        {"kind": "box", "points": [[0.2, 0.2], [0.3, 0.4]]},
        {"kind": "box", "points": [[0.0, 0.0], [1.0, 1.0]]},
        {"kind": "outline", "points": [[0.6, 0.3], [0.75, 0.25], [0.8, 0.5]]},
    ],
)
def test_the_place_is_cut_out_with_its_mark_in_red(region):
    with Image.open(io.BytesIO(cut_marked_place(grey(), region_from_json(region), crop_around))) as crop:
        assert max(crop.size) <= LONGEST_PX
        assert n_red(crop) > 50


def test_a_mark_lies_where_the_note_says():
    """A white square on grey, marked exactly: the red frame runs around the white."""
    out = io.BytesIO()
    picture = Image.new("RGB", (2000, 1000), (128, 128, 128))
    picture.paste((255, 255, 255), (1000, 400, 1200, 600))
    picture.save(out, "JPEG", quality=95)
    region = region_from_json({"kind": "box", "points": [[0.5, 0.4], [0.6, 0.6]]})
    with Image.open(io.BytesIO(cut_marked_place(out.getvalue(), region, crop_around))) as crop:
        centre = crop.getpixel((crop.width // 2, crop.height // 2))
        assert min(centre) > 240
        left = next(x for x in range(crop.width) if crop.getpixel((x, crop.height // 2))[1] < 80)
        right = next(x for x in reversed(range(crop.width)) if crop.getpixel((x, crop.height // 2))[1] < 80)
        assert right - left == pytest.approx(200, abs=8)
