"""Put a sent letter on paper: its PDF, made once and kept."""

from __future__ import annotations

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.letters import keep_letter_paper
from reviews.models import Letter
from reviews.notices.letter_paper import letter_pdf
from reviews.notices.marked_places import approved_pictures, places_marked
from reviews.pages.letter_pages import letter_page
from reviews.pages.wording.dates import day_words
from reviews.rules.states import Role
from reviews.tasks.registry import does


@does(jobs.LETTER_PAPER)
def make_paper(claim: Claim) -> None:
    """Make the PDF unless it is there. Named by content: a second run keeps the same file again."""
    letter = Letter.objects.select_related("book", "sent_by__person").get(pk=claim.subject_id)
    paper_of(letter)


def paper_of(letter: Letter) -> bytes:
    """Return a sent letter's PDF, making and keeping it if the job for it has not come to it yet."""
    if letter.paper:
        return storage.read_all(letter.paper)
    page = letter_page(letter, Role.ILLUSTRATOR, day=day_words)
    pdf = letter_pdf(page, places_marked(page), approved_pictures(page))
    letter.paper = storage.keep_paper(pdf)
    keep_letter_paper(letter, letter.paper)
    return pdf
