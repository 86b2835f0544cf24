"""The page that shows a picture as a printing condition would print it, and what the table's script asks of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, TypedDict

from django.urls import reverse
from django.utils.translation import gettext as _

from reviews.models import Picture, SoftProof
from reviews.pages.wording import soft_proofs as words
from reviews.press.soft_proof import Rendering
from reviews.queries.print_profiles import ProfileOffered, profiles_for
from reviews.queries.soft_proofs import choice_of, found_of, may_be_proofed, soft_proofs_of
from reviews.queries.trouble import PROOFING, troubles
from reviews.rules.states import StageKind


@dataclass(frozen=True, kw_only=True)
class SoftShown:
    """One soft proof. ``state`` is "made", "waits" or "failed"; ``outside_url`` "" where nothing lies outside."""

    id: int
    told: str
    state: str
    lines: tuple[str, ...]
    url: str
    outside_url: str
    width: int
    height: int


@dataclass(frozen=True)
class SoftOption:
    value: str
    words: str
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class SoftPage:
    """A picture, the soft proof that is looked at, the others, and what can be asked for."""

    picture_id: int
    name: str
    preview_url: str
    looked_at: SoftShown | None
    others: tuple[SoftShown, ...]
    profiles: tuple[SoftOption, ...]
    renderings: tuple[SoftOption, ...]
    has_black_point: bool
    shows_paper: bool
    may_ask: bool

    @property
    def waits(self) -> bool:
        return self.looked_at is not None and self.looked_at.state == "waits"


class OnBoard(TypedDict):
    """One soft proof as the table's script lays it over the picture."""

    id: int
    told: str
    url: str
    outside_url: str


def page_of_soft_proofs(picture: Picture, asked: str | None) -> SoftPage:
    """Show one picture (2 queries, 1 more where it waits to be made).

    ``asked`` is the number of the soft proof to look at, else the newest is.
    """
    passage = picture.hand_in.passage
    offered = profiles_for(passage.book)
    rows = soft_proofs_of(picture, offered)
    looked = next((row for row in rows if str(row.pk) == asked), rows[0] if rows else None)
    chosen = choice_of(looked) if looked else None
    keeps = [one for one in Rendering if one != Rendering.OWN_INKS or picture.facts.get("mode", "").startswith("CMYK")]
    return SoftPage(
        picture_id=picture.pk,
        name=picture.file_name,
        preview_url=reverse("reviews:picture-preview", args=[picture.pk]),
        looked_at=_looked_at(picture, looked) if looked else None,
        others=tuple(_shown(picture, row) for row in rows if row is not looked),
        profiles=tuple(
            SoftOption(one.sha256, _offered(one), chosen is not None and chosen.profile_sha256 == one.sha256)
            for one in offered
        ),
        renderings=tuple(
            SoftOption(one.value, str(words.RENDERINGS[one]), chosen is not None and chosen.rendering == one)
            for one in keeps
        ),
        has_black_point=chosen.has_black_point if chosen else True,
        shows_paper=chosen.shows_paper if chosen else True,
        may_ask=bool(offered) and may_be_proofed(picture, StageKind(passage.stage.kind)),
    )


def _looked_at(picture: Picture, row: SoftProof) -> SoftShown:
    """Show one, and say of one that waits where the work on it was given up (1 query where it waits, else none)."""
    shown = _shown(picture, row)
    trouble = troubles(PROOFING, [row.pk]).get(row.pk) if shown.state == "waits" else None
    if trouble is None or not trouble.is_given_up:
        return shown
    return replace(shown, state="failed", lines=(str(words.GIVEN_UP),))


def _offered(one: ProfileOffered) -> str:
    return one.name if one.path is None else _("{name} (on this machine)").format(name=one.name)


def soft_proofs_on_board(picture: Picture) -> list[OnBoard]:
    """List what is made of a picture, newest first (at most 2 queries)."""
    shown = [_shown(picture, row) for row in soft_proofs_of(picture, profiles_for(picture.hand_in.passage.book))]
    return [
        {"id": one.id, "told": one.told, "url": one.url, "outside_url": one.outside_url}
        for one in shown
        if one.state == "made"
    ]


def _shown(picture: Picture, row: SoftProof) -> SoftShown:
    found, choice = found_of(row), choice_of(row)
    told = words.told_words(
        row.profile_name, choice.rendering, has_black_point=choice.has_black_point, shows_paper=choice.shows_paper
    )
    return SoftShown(
        id=row.pk,
        told=told,
        state="made" if found else "waits" if row.result is None else "failed",
        lines=_lines(picture, row),
        url=_file(picture, row, "jpg") if found else "",
        outside_url=_file(picture, row, "png") if found and found.out_share else "",
        width=found.width_px if found else 0,
        height=found.height_px if found else 0,
    )


def _lines(picture: Picture, row: SoftProof) -> tuple[str, ...]:
    found, rendering = found_of(row), Rendering(row.rendering)
    if found is None:
        result: dict[str, Any] = row.result or {}
        return (words.not_made_words(str(result.get("code", ""))),) if row.result is not None else ()
    has_profile, mode = bool(picture.facts.get("profile_name")), str(picture.facts.get("mode", ""))
    assumed = words.assumed_words(mode, has_profile=has_profile, rendering=rendering)
    return tuple(line for line in (words.outside_words(found, rendering), assumed) if line)


def _file(picture: Picture, row: SoftProof, ending: str) -> str:
    return reverse("reviews:soft-proof-file", args=[picture.pk, row.pk, ending])
