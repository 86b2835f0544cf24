"""Steps of a review in one call each, for tests about letters."""

from __future__ import annotations

from reviews.actions import letters, notes
from reviews.actions.opened import table_opened
from reviews.models import Letter, Note, Passage, Seat
from reviews.queries.letters import letter_fingerprint
from tests.cast import Cast
from tests.makers import handed_in

BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}
ELSEWHERE = {"kind": "box", "points": [[0.7, 0.6], [0.9, 0.9]]}


def pinned(
    passage: Passage, seat: Seat, words: str = "Turn her head.", *, cause: str = "direction", region=BOX, line=None
) -> Note:
    """Pin a note to the first picture of the newest hand-in."""
    passage.refresh_from_db()
    picture = passage.hand_in.pictures.order_by("position").first()
    return notes.pin_note(passage.pk, picture.pk, region=region, words=words, cause=cause, brief_line=line, actor=seat)


def opened(cast: Cast, *passages: Passage) -> None:
    """Open what lies on these tables, as the art director does before anything is approved at one press."""
    for passage in passages:
        passage.refresh_from_db()
        table_opened(passage.hand_in, actor=cast.art_director)


def answered(cast: Cast, passage: Passage, answer: str) -> None:
    """Write an answer into the draft, choosing the first picture where one must be chosen."""
    passage.refresh_from_db()
    picture = passage.hand_in.pictures.order_by("position").first()
    letters.set_answer(passage.pk, answer=answer, picture_id=picture.pk, actor=cast.art_director)


def draft_of(cast: Cast) -> Letter:
    return Letter.objects.get(book=cast.book, sent_at=None)


def sent(cast: Cast, *, over: bool = False, over_brief: bool = False) -> Letter:
    """Send the draft as it stands."""
    draft = draft_of(cast)
    return letters.send_letter(
        draft.pk,
        looked_at=letter_fingerprint(draft),
        over_is_agreed=over,
        over_brief=over_brief,
        actor=cast.art_director,
    )


def a_round(cast: Cast, passage: Passage, seed: int, *, over: bool = False) -> Letter:
    """Hand in once and be asked for changes once."""
    handed_in(passage, cast.illustrator, [seed])
    pinned(passage, cast.art_director, f"Change {seed}.")
    answered(cast, passage, "ask")
    return sent(cast, over=over)


def approved(cast: Cast, passage: Passage, seed: int) -> Letter:
    """Hand in once and have it approved by the letter alone."""
    handed_in(passage, cast.illustrator, [seed])
    answered(cast, passage, "approve")
    return sent(cast)
