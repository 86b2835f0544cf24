"""The shapes of what the review table is told: the page's head, and the JSON that its scripts read."""

from __future__ import annotations

from datetime import date
from typing import Any, TypedDict

from django.utils.functional import Promise

from reviews.pages.derived import DerivedRow


class DueWords(TypedDict):
    """How near the date that counts is, as a tone and in words."""

    due_tone: str
    due_words: str


class HeadDates(DueWords):
    """The dates that the head names; none for a guest."""

    due_on: date | None
    answer_due_on: date | None


class StageLink(TypedDict):
    """The way to one stage of the spread."""

    name: str
    url: str
    is_here: bool


class HeadRounds(TypedDict):
    """Rounds as the head counts them; ``used`` is no guest's affair."""

    used: int | None
    included: int
    left: int
    over: int
    outside: int


class TableHead(HeadDates):
    """A passage's standing in words, for the head of its pages."""

    id: int
    book_title: str
    spread_label: str
    stage_name: str
    stages: list[StageLink]
    state: str
    state_words: str
    is_passed_over: bool
    holder_words: str
    silent_on: date | None
    rounds: HeadRounds


class OnTableMark(TypedDict):
    """What one person said of an option."""

    verdict: str
    author: str
    why: str
    is_mine: bool


class GuideOnArt(TypedDict):
    """One guide over a picture, in shares of it: a box, or an upright line where both sides are one."""

    kind: str
    box: list[float]


class TextLineShown(TypedDict):
    """One line of text: its words, where its baseline begins, and how wide it is, in mm of the trim."""

    words: str
    x: float
    y: float
    width: float


class BlockShown(TypedDict):
    """One block of text as pages and scripts draw it, in mm of the trim."""

    number: int
    face: str
    size: float
    colour: str
    language: str
    box: list[float]
    lines: list[TextLineShown]


class TextOnArt(TypedDict):
    """Blocks over a picture; ``view`` is how the picture lies, in mm of the trim: left, top, width, height."""

    view: list[float]
    blocks: list[BlockShown]


class OnTableFrame(TypedDict):
    """Where the trim and the gutter lie, in shares of the picture; the text over it, None where there is none.

    ``turn`` is how a sheet lies askew, with all of it: degrees clockwise, and about which place, None where straight.
    """

    trim: list[float] | None
    gutter: float | None
    guides: list[GuideOnArt]
    text: TextOnArt | None
    turn: list[float] | None


class OnTablePlate(TypedDict):
    """One spot plate of a picture: a sheet to lay over the art, and its name."""

    url: str
    name: str


class OnTablePicture(TypedDict):
    """One picture as the table's scripts read it; ``made_from`` tells of the sheets it was made from."""

    id: int
    name: str
    position: int
    width_px: int | None
    height_px: int | None
    preview_url: str | None
    thumb_url: str | None
    original_url: str | None
    tiles_url: str | None
    scale_factors: list[int]
    plates: list[OnTablePlate]
    mm_per_px: float | None
    frame: OnTableFrame
    laid_words: str
    state: str
    reason: str
    assumed_profile: str | None
    is_ready: bool
    is_approved: bool
    marks: list[OnTableMark]
    made_from: DerivedRow | None


class OnTableReply(TypedDict):
    """What was said under a note."""

    author: str
    words: str
    at: str


class OnTableResponse(TypedDict):
    """What the illustrator answered to a note."""

    kind: str
    kind_words: str
    words: str


class OnBookNote(TypedDict):
    """How a note on the book stands on one spread: what is said while it waits there, and where it is answered."""

    awaits: str
    answer_url: str
    spread: int


class OnTableNote(OnBookNote):
    """One note as the table's scripts read it; what a seat may not know is empty."""

    id: int
    mark: str
    name: str
    picture: int
    region: dict[str, Any] | None
    strokes: list[list[list[float]]]
    reach: str
    words: str
    own_words: str
    seen: str
    first_words: str
    cause: str
    error: str
    brief_line: str
    cause_words: str
    author: str
    role: str
    state: str
    is_held: bool
    mine: bool
    may_edit: bool
    may_withdraw: bool
    may_reply: bool
    replies: list[OnTableReply]
    url: str
    letter_number: int | None
    letter_url: str | None
    response: OnTableResponse | None


class TableRights(TypedDict):
    """What this seat may do on the table now."""

    pin: bool
    mark_option: bool


class TableAddresses(TypedDict):
    """Where the table's scripts ask and post."""

    pin: str
    mark_option: str
    changes: str | None
    under: str | None


class TableData(TypedDict):
    """Everything the table's scripts read."""

    pictures: list[OnTablePicture]
    notes: list[OnTableNote]
    key: str
    may: TableRights
    causes: list[tuple[str, str | Promise]]
    errors: list[tuple[str, str | Promise]]
    brief_lines: list[tuple[str, str]]
    urls: TableAddresses
