"""The draft of a hand-in, fetched for a deed of the illustrator who began it."""

from __future__ import annotations

from reviews.actions._deed import Act
from reviews.models import HandIn, Picture
from reviews.rules.states import HandInState, Refused


def own_draft(hand_in_id: int, act: Act) -> HandIn:
    """Fetch the actor's own draft of this book, or refuse."""
    draft = HandIn.objects.select_related("by").get(pk=hand_in_id, passage__book=act.book)
    if draft.by_id != act.by.pk:
        raise Refused("not-your-draft")
    if draft.state != HandInState.DRAFT:
        raise Refused("already-handed-in")
    return draft


def draft_picture(picture_id: int, act: Act) -> Picture:
    """Fetch a picture that stands in the actor's own draft, or refuse."""
    picture = Picture.objects.select_related("hand_in").get(pk=picture_id, hand_in__passage__book=act.book)
    own_draft(picture.hand_in_id, act)
    if picture.removed_at is not None:
        raise Refused("picture-gone")
    return picture
