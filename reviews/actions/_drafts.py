"""The draft of a hand-in, fetched for a deed of the illustrator who began it."""

from __future__ import annotations

from django.conf import settings
from django.db.models import Count, Sum

from reviews.actions._deed import Act
from reviews.models import HandIn, Picture
from reviews.rules.states import PUBLISHER_SIDE, HandInState, Refused, Role, Sight

MB = 1024 * 1024


def own_draft(hand_in_id: int, act: Act) -> HandIn:
    """Fetch the actor's own draft of this book, or refuse."""
    draft = HandIn.objects.select_related("by").get(pk=hand_in_id, passage__book=act.book)
    if draft.by_id != act.by.pk:
        raise Refused("not-your-draft")
    if draft.state != HandInState.DRAFT:
        raise Refused("already-handed-in")
    return draft


def check_room(draft: HandIn, n_bytes: int = 0) -> None:
    """Refuse one more file where a draft keeps enough: what was taken out of it counts too, since its bytes stay."""
    kept = draft.pictures.aggregate(n=Count("pk"), n_bytes=Sum("n_bytes"))
    if kept["n"] >= settings.DRAFT_MAX_FILES:
        raise Refused("draft-keeps-many", n=kept["n"])
    if (kept["n_bytes"] or 0) + n_bytes > settings.DRAFT_MAX_BYTES:
        raise Refused("draft-too-heavy", used=(kept["n_bytes"] or 0) // MB, most=settings.DRAFT_MAX_BYTES // MB)


def sight_of(draft: HandIn) -> Sight:
    """Name who may know of what is gathered: the side of whoever gathers it; needs ``by`` joined."""
    return Sight.PUBLISHER if Role(draft.by.role) in PUBLISHER_SIDE else Sight.ILLUSTRATOR


def draft_picture(picture_id: int, act: Act) -> Picture:
    """Fetch a picture that stands in the actor's own draft, or refuse."""
    picture = Picture.objects.select_related("hand_in__by").get(pk=picture_id, hand_in__passage__book=act.book)
    own_draft(picture.hand_in_id, act)
    if picture.removed_at is not None:
        raise Refused("picture-gone")
    return picture
