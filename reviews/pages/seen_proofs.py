"""The page that shows a photographed proof beside the art, with what differs hatched."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from reviews.models import Picture
from reviews.pages.wording import seen_proofs as words
from reviews.queries.seen_proofs import found_of, seen_asked, seen_proof_of


@dataclass(frozen=True, kw_only=True)
class SeenPage:
    """A photograph of a proof. ``state`` is "not-asked", "waits", "seen", "not-seen" or "cannot"."""

    picture_id: int
    name: str
    art_name: str
    state: str
    lines: tuple[str, ...]
    proof_url: str
    art_url: str
    sheet_url: str
    width: int
    height: int


def page_of_seen_proof(picture: Picture) -> SeenPage:
    """Show one photograph (at most 2 queries)."""
    asked = seen_asked(picture)
    row = seen_proof_of(asked) if asked else None
    found = found_of(row) if row else None
    if asked is None:
        state = "cannot"
    elif row is None:
        state = "not-asked"
    else:
        state = "waits" if row.result is None else "seen" if found else "not-seen"
    told = tuple(words.seen_lines(found)) if found else ()
    if row is not None and row.result is not None and found is None:
        told = (words.not_seen_words(str(row.result["code"])),)
    return SeenPage(
        picture_id=picture.pk,
        name=picture.file_name,
        art_name=asked.art.file_name if asked else "",
        state=state,
        lines=told,
        proof_url=reverse("reviews:picture-preview", args=[picture.pk]),
        art_url=reverse("reviews:picture-preview", args=[asked.art.pk]) if asked else "",
        sheet_url=reverse("reviews:seen-proof-sheet", args=[picture.pk]) if found and found.places else "",
        width=picture.width_px or 1,
        height=picture.height_px or 1,
    )
