"""The second sign-off: all that waits for one person's word, in a row, each spread with its text beside the art."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q

from reviews.models import Agreement, Book, HandIn, LetterAnswer, Note, Passage, Picture, Seat
from reviews.press.text_text import blocks_from_text
from reviews.queries.briefs import newest_of_spreads
from reviews.queries.text_blocks import newest_texts
from reviews.rules import permits
from reviews.rules.briefs import BriefPart
from reviews.rules.states import NoteState, PassageState, PictureState, Role


@dataclass(frozen=True, kw_only=True)
class SignOff:
    """One spread that waits; ``answer`` is what the letter said that waits for this word, None where none went yet.

    ``placed`` are the words of the text blocks on its pages, ``written`` the text of its brief where none are placed.
    """

    passage: Passage
    hand_in: HandIn
    pictures: Sequence[Picture]
    answer: LetterAnswer | None
    placed: Sequence[str]
    written: str
    n_notes: int
    n_own: int

    @property
    def is_pending(self) -> bool:
        return self.passage.pending_id == self.hand_in.pk

    @property
    def is_plain(self) -> bool:
        """Say whether it may be agreed to together with others.

        It waits for this word alone, its art is to be seen, and this person marked nothing in it.
        """
        return self.is_pending and not self.n_own and all(one.has_preview for one in self.pictures)


@dataclass(frozen=True, kw_only=True)
class SignOffs:
    waiting: Sequence[SignOff]

    @property
    def together(self) -> list[SignOff]:
        """List what may be agreed to at once, where that is more than one."""
        plain = [one for one in self.waiting if one.is_plain]
        return plain if len(plain) > 1 else []


def sign_offs(book: Book, seat: Seat) -> SignOffs:
    """List what waits for this seat's word, what the art director approved first (6 queries whatever their number)."""
    passages = _waiting(book, seat)
    handed = [row.hand_in_id for row in passages]
    pictures: dict[int, list[Picture]] = {}
    for picture in Picture.objects.filter(hand_in__in=handed, removed_at=None).order_by("position"):
        pictures.setdefault(picture.hand_in_id, []).append(picture)
    answers = _answers(passages)
    spreads = {row.spread_id for row in passages}
    reads = permits.sees(Role(seat.role), "brief")
    texts = newest_texts(spreads) if reads else {}
    placed = {pk: [one.words for one in blocks_from_text(text.blocks)] for pk, text in texts.items()}
    briefs = newest_of_spreads(book) if reads and passages else []
    written = {brief.spread_id: brief.parts.get(BriefPart.TEXT, "") for brief in briefs}
    notes = _note_counts(handed, seat)
    return SignOffs(
        waiting=[
            _sign_off(row, pictures, answers.get(row.pk), placed.get(row.spread_id, []), written, notes)
            for row in passages
        ]
    )


def _waiting(book: Book, seat: Seat) -> list[Passage]:
    said = Agreement.objects.filter(hand_in=OuterRef("hand_in"), seat=seat)
    rows = (
        Passage.objects.live()
        .select_related("spread", "stage", "hand_in")
        .filter(book=book, state=PassageState.ANSWERING, stage__two_voices=True)
        .exclude(Exists(said))
    )
    found = list(rows.order_by("spread__position", "stage__position"))
    for row in found:
        row.book = book
    return sorted(found, key=lambda row: row.pending_id is None)


def _answers(passages: Iterable[Passage]) -> dict[int, LetterAnswer]:
    pending = [row.pending_id for row in passages if row.pending_id is not None]
    if not pending:
        return {}
    sent = LetterAnswer.objects.filter(
        hand_in__in=pending, letter__sent_at__isnull=False, letter__taken_back_at=None
    ).select_related("letter")
    return {answer.passage_id: answer for answer in sent.order_by("letter__number")}


def _note_counts(handed: Sequence[int | None], seat: Seat) -> Mapping[int, tuple[int, int]]:
    unsent = Note.objects.filter(picture__hand_in__in=handed, state=NoteState.UNSENT).order_by()
    counted = unsent.values("picture__hand_in").annotate(n=Count("pk"), n_own=Count("pk", filter=Q(author=seat)))
    return {row["picture__hand_in"]: (row["n"], row["n_own"]) for row in counted}


def _sign_off(
    passage: Passage,
    pictures: Mapping[int, list[Picture]],
    answer: LetterAnswer | None,
    placed: Sequence[str],
    written: Mapping[int | None, str],
    notes: Mapping[int, tuple[int, int]],
) -> SignOff:
    hand_in = passage.hand_in
    assert hand_in is not None, "answering_has_hand_in"
    shown = [one for one in pictures.get(hand_in.pk, []) if one.state != PictureState.REFUSED]
    if answer is not None and answer.picture_id is not None:
        shown = [one for one in shown if one.pk == answer.picture_id]  # of several options, the one that was chosen
    n_notes, n_own = notes.get(hand_in.pk, (0, 0))
    return SignOff(
        passage=passage,
        hand_in=hand_in,
        pictures=shown,
        answer=answer if passage.pending_id == hand_in.pk else None,
        placed=placed,
        written="" if placed else written.get(passage.spread_id, ""),
        n_notes=n_notes,
        n_own=n_own,
    )
