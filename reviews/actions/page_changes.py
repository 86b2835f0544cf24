"""Spreads dropped, added and brought back, and another number of pages.

Until terms are agreed or anything is begun the publisher does it and the other side is told; from then on one side
proposes it, and it holds once the other agrees. What is dropped keeps its art, notes and history, and nothing is due
of it any more.
"""

from __future__ import annotations

from reviews.actions._deed import Act, deed_on
from reviews.actions._pages import apply_change
from reviews.actions._proposals import begin, end, proposed_by, read_to_answer, words_given
from reviews.models import Book, Proposal, Seat
from reviews.press.refused import CannotPrint
from reviews.queries.briefs import is_sketch_approved
from reviews.queries.page_changes import BookPages, effects_of, has_begun, pages_of
from reviews.queries.print_set_ups import print_of, told_of
from reviews.rules.contract.page_effects import PageEffects
from reviews.rules.page_changes import PageChange, PageDeed, WantedPages, wanted_as_text, wanted_from_text
from reviews.rules.proposals import Matter, ProposalState
from reviews.rules.states import Deed, Refused, Role


def ask_for_pages(
    book_id: int, wanted: WantedPages, reason: str, *, seen: int | None = None, actor: Seat
) -> Proposal | None:
    """Change what the pages carry where the publisher may do it alone (None), else propose it to the other side."""
    book = Book.objects.get(pk=book_id)
    if actor.role == Role.ART_DIRECTOR and not has_begun(book):
        change_pages(book_id, wanted, reason, actor=actor)
        return None
    return propose_pages(book_id, wanted, reason, seen=seen, actor=actor)


def change_pages(book_id: int, wanted: WantedPages, reason: str, *, actor: Seat) -> None:
    """Change what the pages of a book carry, by the publisher alone, before terms were agreed or anything begun."""
    with deed_on(Book, book_id, Deed.REPAGE, actor) as act:
        if act.by.role != Role.ART_DIRECTOR:
            raise Refused("not-yours")
        if has_begun(act.book):
            raise Refused("pages-begun")
        said = words_given(reason, "pages-need-reason")
        pages, change, effects = _worked_out(act, wanted)
        _overtake(act)
        act.record(apply_change(act, pages, change, effects, said))


def propose_pages(book_id: int, wanted: WantedPages, reason: str, *, seen: int | None = None, actor: Seat) -> Proposal:
    """Propose to change what the pages of a book carry; ``seen`` numbers the open proposal of pages that was read.

    What would come of it, to spreads and to money, is kept with the proposal: the other side agrees to that and to
    nothing else.
    """
    with deed_on(Book, book_id, Deed.PROPOSE, actor) as act:
        said = words_given(reason, "pages-need-reason")
        pages, change, effects = _worked_out(act, wanted)
        asked = _asked(pages, wanted, change, effects)
        made, named = begin(act, Matter.PAGES, seen=seen, from_on=act.today, to_on=None, reason=said, pages=asked)
        act.record(named)
        return made


def accept_pages(proposal_id: int, *, actor: Seat) -> Proposal:
    """Accept a proposed change of the pages, as both sides read it."""
    with deed_on(Proposal, proposal_id, Deed.REPAGE, actor) as act:
        proposal = read_to_answer(proposal_id, act)
        asked = proposal.pages or {}
        wanted = wanted_from_text(asked["wanted"])
        pages, change, effects = _worked_out(act, wanted)
        now = _asked(pages, wanted, change, effects)
        if now["change"] != asked["change"]:
            raise Refused("pages-changed-since")
        if now["effects"] != asked["effects"]:
            raise Refused("pages-money-since")
        end(proposal, act, ProposalState.ACCEPTED)
        act.record(
            apply_change(act, pages, change, effects, proposal.reason) | {"proposed": proposed_by(proposal, act)}
        )
    return proposal


def _overtake(act: Act) -> None:
    """End what is open about the pages: what it would do was worked out for pages that are others now."""
    for proposal in Proposal.objects.open().filter(book=act.book, matter=Matter.PAGES):
        end(proposal, act, ProposalState.OVERTAKEN)


def _worked_out(act: Act, wanted: WantedPages) -> tuple[BookPages, PageChange, PageEffects]:
    pages = pages_of(act.book)
    change = pages.change(wanted)
    if wanted.what == PageDeed.COUNT:
        _check_count(act.book, change)
    return pages, change, effects_of(act.book, pages, change, act.now)


def _check_count(book: Book, change: PageChange) -> None:
    """Refuse another number of pages where art was made for the one before, or the told pieces cannot be cut by it."""
    if is_sketch_approved(book, None):
        raise Refused("pages-sketch-approved")
    if told_of(book):
        stands, book.n_pages = book.n_pages, change.n_pages
        try:
            print_of(book).check()
        except CannotPrint as no:
            raise Refused(no.code, **no.values) from no
        finally:
            book.n_pages = stands


def _asked(pages: BookPages, wanted: WantedPages, change: PageChange, effects: PageEffects) -> dict[str, object]:
    labels = {row.pk: row.label for row in (*pages.live, *pages.dropped)}
    named = {str(number): labels[number] for number in (*change.drops, *change.backs, *change.slots)}
    return {
        "wanted": wanted_as_text(wanted),
        "was_pages": pages.book.n_pages,
        "change": change.as_text(),
        "labels": named,
        "effects": effects.as_text(),
    }
