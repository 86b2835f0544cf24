"""A closed vote on one page: the options in their order, who beats whom, and what was decided."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence

from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Image, KeepInFrame, SimpleDocTemplate, Spacer, Table

from reviews import storage
from reviews.imaging.results import THUMB_NAME
from reviews.models import OptionVote, Picture
from reviews.notices.letter_paper import ANSWER, BODY, GREY, HEADING, MARGIN, QUIET, TEXT_WIDTH, TITLE, _paragraph
from reviews.notices.type import SANS, SANS_BOLD, printable
from reviews.pages.votes import PairRow, VoteOption, VotePage, VoteResult
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.votes import ADVICE, PAIR_WORDS
from reviews.rules.states import HandInState

#: Gives the small picture of an option as JPEG, or None where it cannot be had.
Small = Callable[[int], bytes | None]

_PER_ROW = 5
_THUMB = TEXT_WIDTH / _PER_ROW - 4 * mm
_CELL = ParagraphStyle("vote-cell", QUIET, fontName=SANS, textColor=black, fontSize=8, leading=10)
_CELL_BOLD = ParagraphStyle("vote-cell-bold", _CELL, fontName=SANS_BOLD)
#: More ballots than this are counted and not listed: the page is one.
_MOST_LISTED = 24


def vote_pdf(page: VotePage, small: Small) -> bytes:
    """Set a closed vote on one A4 page, made smaller where it would not fit. The same vote gives the same bytes."""
    result, vote = page.result, page.vote
    if result is None or vote.closed_at is None:
        raise ValueError("a vote has a paper once it is closed")
    out = io.BytesIO()
    book = vote.passage.book
    document = SimpleDocTemplate(
        out, pagesize=A4, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(_("{title}: vote").format(title=book.title)), invariant=1,
    )  # fmt: skip
    closed = day_words(book.day_rule.local_date(vote.closed_at))
    story: list[Flowable] = [
        _paragraph(_("Vote on the options"), TITLE),
        _paragraph(f"{book.title}, {vote.passage.where}", BODY),
        _paragraph(_("Closed on {day}. {counted}").format(day=closed, counted=result.counted), QUIET),
        *([_paragraph(vote.words, BODY)] if vote.words else []),
        Spacer(1, 6),
        *_outcome(result, small),
        *_decision(page),
        *_ballots(result),
        Spacer(1, 6),
        _paragraph(str(ADVICE), QUIET),
    ]
    height = A4[1] - 2 * MARGIN - 12
    document.build([KeepInFrame(TEXT_WIDTH, height, story, mode="shrink")])
    return out.getvalue()


def small_of(vote: OptionVote) -> Small:
    """Give what reads the small pictures of a vote's options (1 query, then a read for each).

    None is given once the hand-in was taken back: its pictures are not the house's to look at any more.
    """
    handed = HandInState.HANDED_IN
    rows = Picture.objects.filter(pk__in=vote.options, has_preview=True, hand_in__state=handed)
    names = {picture.pk: storage.rendition_name(picture.sha256, THUMB_NAME) for picture in rows}

    def small(picture: int) -> bytes | None:
        try:
            return storage.read_all(names[picture]) if picture in names else None
        except FileNotFoundError:
            # The result holds without it, and whoever needs the paper now is not kept from it.
            return None

    return small


def _outcome(result: VoteResult, small: Small) -> list[Flowable]:
    if not result.places:
        return []
    shown = [(place, one) for place, group in enumerate(result.places, 1) for one in group]
    cells = [_card(place, one, small) for place, one in shown]
    rows = [cells[at : at + _PER_ROW] for at in range(0, len(cells), _PER_ROW)]
    rows = [row + [[]] * (_PER_ROW - len(row)) for row in rows]
    return [
        *[_paragraph(line, ANSWER) for line in result.lead],
        Table(rows, colWidths=[TEXT_WIDTH / _PER_ROW] * _PER_ROW, style=[("VALIGN", (0, 0), (-1, -1), "TOP"),
              ("LEFTPADDING", (0, 0), (-1, -1), 0)]),
        _pairs(result.pairs),
        _paragraph(str(PAIR_WORDS), QUIET),
    ]  # fmt: skip


def _card(place: int, option: VoteOption, small: Small) -> list[Flowable]:
    words = _paragraph(_("{place}. Option {number}").format(place=place, number=option.number), _CELL_BOLD)
    data = small(option.picture)
    if data is None:
        return [words]
    share = min(_THUMB / option.width_px, _THUMB * 0.75 / option.height_px)
    image = Image(io.BytesIO(data), option.width_px * share, option.height_px * share, hAlign="LEFT")
    return [words, image]


def _pairs(rows: Sequence[PairRow]) -> Table:
    head = ["", *[str(row.number) for row in rows], _("Points"), _("Placed by")]
    body: list[list[Flowable]] = [[_paragraph(words, _CELL_BOLD) for words in head]]
    for row in rows:
        cells = [_pair(cell) for cell in row.cells]
        counts = [_paragraph(row.points, _CELL), _paragraph(str(row.approvals), _CELL)]
        body.append([_paragraph(str(row.number), _CELL_BOLD), *cells, *counts])
    narrow = (TEXT_WIDTH - 40 * mm) / (len(rows) + 1)
    widths = [min(narrow, 16 * mm)] * (len(rows) + 1) + [18 * mm, 22 * mm]
    style = [("LINEBELOW", (0, 0), (-1, -1), 0.3, GREY), ("LINEBELOW", (0, 0), (-1, 0), 1, black),
             ("BACKGROUND", (0, 0), (-1, 0), HexColor("#f0f0f0")), ("TOPPADDING", (0, 0), (-1, -1), 1),
             ("BOTTOMPADDING", (0, 0), (-1, -1), 2)]  # fmt: skip
    return Table(body, colWidths=widths, style=style, hAlign="LEFT", spaceBefore=6, spaceAfter=4)


def _pair(cell: tuple[int, bool] | None) -> Flowable:
    if cell is None:
        return _paragraph("–", _CELL)
    votes, is_more = cell
    return _paragraph(f"{votes} ›" if is_more else str(votes), _CELL_BOLD if is_more else _CELL)


def _decision(page: VotePage) -> list[Flowable]:
    vote = page.vote
    if page.chosen is None or vote.decided_by is None or vote.decided_at is None:
        undecided = _("Not decided yet. {name} decides.").format(name=vote.decider.person.name)
        return [_paragraph(_("Decision"), HEADING), _paragraph(undecided, BODY)]
    day = day_words(vote.passage.book.day_rule.local_date(vote.decided_at))
    told = _("Option {number}, decided by {name} on {day}.")
    who = told.format(number=page.chosen.number, name=vote.decided_by.person.name, day=day)
    return [_paragraph(_("Decision"), HEADING), _paragraph(who, ANSWER), _paragraph(vote.reasons, BODY)]


def _ballots(result: VoteResult) -> list[Flowable]:
    if not result.ballots and not result.broken:
        return []
    lines = [f"{ballot.name}: {ballot.words}" for ballot in result.ballots[:_MOST_LISTED]]
    if more := len(result.ballots) - _MOST_LISTED:
        lines += [_("and {n} more, on the portal").format(n=more)] if more > 0 else []
    lines += [_("Not counted, as changed outside the portal: {name}").format(name=name) for name in result.broken]
    return [_paragraph(_("Ballots"), HEADING), *[_paragraph(line, _CELL) for line in lines]]
