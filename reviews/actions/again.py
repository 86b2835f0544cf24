"""Try again what was given up: one press on the picture, the comparison, the letter or the invitation itself."""

from __future__ import annotations

from reviews import jobs
from reviews.actions._deed import Act, deed_on
from reviews.actions.jobs import begin_work_again
from reviews.models import Invitation, Letter, Passage, Picture, Seat
from reviews.queries.trouble import comparisons_for, unsent_mails_of
from reviews.rules.payload_shapes import TryAgainData
from reviews.rules.states import Deed, HandInState, Sight


def read_again(picture_id: int, *, actor: Seat) -> int:
    """Have a picture read again whose reading was given up or waits; say how many pieces of work began."""
    picture = Picture.objects.select_related("hand_in__passage").get(pk=picture_id)
    passage = picture.hand_in.passage
    with deed_on(Passage, passage.pk, Deed.TRY_AGAIN, actor) as act:
        n_begun = begin_work_again(jobs.RENDITIONS, picture.pk, only_given_up=False)
        is_own = picture.hand_in.state == HandInState.DRAFT
        return _recorded(act, n_begun, {"work": "reading", "name": picture.file_name}, passage, is_own=is_own)


def compare_again(passage_id: int, *, actor: Seat) -> int:
    """Have the pictures of a passage compared again where that was given up or waits."""
    passage = Passage.objects.with_places().get(pk=passage_id)
    with deed_on(Passage, passage.pk, Deed.TRY_AGAIN, actor) as act:
        waiting = comparisons_for(passage)
        n_begun = sum(begin_work_again(jobs.COMPARE, pk, only_given_up=False) for pk in waiting)
        return _recorded(act, n_begun, {"work": "comparison"}, passage)


def paper_again(letter_id: int, *, actor: Seat) -> int:
    """Have a sent letter's PDF made and its mails sent again where that was given up or waits."""
    letter = Letter.objects.get(pk=letter_id)
    with deed_on(Letter, letter.pk, Deed.TRY_AGAIN, actor) as act:
        n_begun = begin_work_again(jobs.LETTER_PAPER, letter.pk, only_given_up=False)
        n_begun += sum(begin_work_again(jobs.MAIL, pk, only_given_up=False) for pk in unsent_mails_of(letter))
        return _recorded(act, n_begun, {"work": "letter", "number": letter.number})


def invite_again(invitation_id: int, *, actor: Seat) -> int:
    """Have an invitation's mail sent again where that was given up or waits."""
    invitation = Invitation.objects.get(pk=invitation_id)
    with deed_on(Invitation, invitation.pk, Deed.TRY_AGAIN, actor) as act:
        n_begun = begin_work_again(jobs.INVITATION, invitation.pk, only_given_up=False)
        return _recorded(act, n_begun, {"work": "invitation", "name": invitation.name})


def _recorded(
    act: Act, n_begun: int, work: TryAgainData, passage: Passage | None = None, *, is_own: bool = False
) -> int:
    """Write the entry, or none where nothing waited: a second press of the button finds the work begun."""
    if not n_begun:
        act.void()
        return 0
    told: TryAgainData = {"where": passage.where, **work} if passage else work
    act.record(
        told,
        passage=act.passage(passage.pk) if passage else None,
        sight=Sight.ILLUSTRATOR if is_own else Sight.ALL,
    )
    return n_begun
