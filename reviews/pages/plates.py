"""A plate of a special finish as its page shows it: what it is for, what was measured, and how it will look."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from reviews.models import Passage, Picture, PlateTold, Seat
from reviews.pages.guides import GuideShape
from reviews.pages.wording import plates as words
from reviews.press.finish import Finish, Metal, PlateFound, PlateWay, check_plate, plate_area_cm2
from reviews.press.placing import PlacedPicture
from reviews.queries.comparisons import approved_among, approved_before
from reviews.queries.frames import placed_on
from reviews.queries.plate_faults import is_of
from reviews.queries.plates import PlateKnown, finish_limits, plate_asked, plates_known, plates_told
from reviews.rules import permits
from reviews.rules.states import Deed, Role, StageKind


@dataclass(frozen=True)
class PlateChoice:
    value: str
    words: str
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class PlateLook:
    """Art and plate laid on each other by the edges of the page, in a view of the art's pixels."""

    art_url: str
    plate_url: str
    width: int
    height: int
    left: float
    top: float
    across: float
    down: float
    finish: str
    metal: str


@dataclass(frozen=True, kw_only=True)
class PlateShown:
    """One plate. ``told`` is what it is for, "" where nobody said; ``state`` what is known of its measurement."""

    id: int
    name: str
    told: str
    by: str
    bound: str
    is_bound_to_older: bool
    state: str
    figures: tuple[str, ...]
    faults: tuple[str, ...]
    places: tuple[GuideShape, ...]
    view: str
    looked: str
    look: PlateLook | None
    may_tell: bool
    finishes: tuple[PlateChoice, ...]
    ways: tuple[PlateChoice, ...]
    metals: tuple[PlateChoice, ...]


def plate_lines(pairs: Sequence[tuple[Picture, Passage]], art: Mapping[int, Picture | None]) -> dict[int, list[str]]:
    """Say by picture what is known of plates, for a paper (at most 2 queries; none where there is no plate).

    ``art`` is the picture that stands approved now, by spread.
    """
    plates = [(picture, passage) for picture, passage in pairs if passage.stage.kind == StageKind.FINISH]
    if not plates:
        return {}
    told = plates_told([picture for picture, _ in plates])
    asked = {
        picture.pk: plate_asked(picture, passage, told[picture.pk]) for picture, passage in plates if picture.pk in told
    }
    known = plates_known(asked.values())
    lines = {}
    for picture, passage in plates:
        row, one = told.get(picture.pk), asked.get(picture.pk)
        found = known.get(one) if one else None
        older = [str(words.OLDER_ART)] if row and not is_of(row, art.get(passage.spread_id)) else []
        lines[picture.pk] = [str(words.UNTOLD)] if row is None else _lines(picture, passage, row, found, older)
    return lines


def _lines(
    picture: Picture, passage: Passage, told: PlateTold, known: PlateKnown | None, older: list[str]
) -> list[str]:
    head = _("Plate: {told}. Bound to {bound}, SHA-256 {sha256}").format(
        told=words.told_words(told.finish, told.way, told.metal), bound=_bound(told), sha256=told.art.sha256
    )
    found, placed = known.found if known else None, placed_on(picture, passage)
    if found is None or placed is None:
        return [head, *older, str(words.NOT_MEASURED)]
    faults = older + _faults(found, placed, told, passage) or [_("Nothing was found against the plate.")]
    return [head, *faults, *_figures(found, placed), words.looked_words(found)]


def plates_shown(
    pictures: Sequence[Picture], passage: Passage, seat: Seat, row: Sequence[Passage] | None = None
) -> list[PlateShown]:
    """Show the plates of a finish (at most 3 queries; none at another stage).

    ``row``: the passages of its spread with their approved pictures, where they are at hand, for 1 query less.
    """
    if passage.stage.kind != StageKind.FINISH or not pictures:
        return []
    told = plates_told(pictures)
    asked = {picture.pk: plate_asked(picture, passage, told[picture.pk]) for picture in pictures if picture.pk in told}
    known = plates_known(asked.values())
    art = approved_before(passage) if row is None else approved_among(row, passage)
    may = permits.may(Role(seat.role), Deed.TELL_PLATE)
    shown = []
    for picture in pictures:
        one = asked.get(picture.pk)
        found = known.get(one) if one else None
        state = "untold" if picture.pk not in told else "not-laid" if one is None else _state(found)
        shown.append(_shown(picture, passage, told.get(picture.pk), found, state=state, art=art, may=may))
    return shown


def _state(known: PlateKnown | None) -> str:
    if known is None:
        return "not-measured"
    return "known" if known.found else "waits" if known.is_awaited else "not-read"


def _shown(
    picture: Picture, passage: Passage, told: PlateTold | None, known: PlateKnown | None, *, state: str,
    art: Picture | None, may: bool,
) -> PlateShown:  # fmt: skip
    found = known.found if known else None
    placed = placed_on(picture, passage)
    measured = told is not None and found is not None and placed is not None
    return PlateShown(
        id=picture.pk,
        name=picture.file_name,
        told=words.told_words(told.finish, told.way, told.metal) if told else "",
        by=told.told_by.person.name if told else "",
        bound=_bound(told) if told else "",
        is_bound_to_older=told is not None and not is_of(told, art),
        state=state,
        figures=tuple(_figures(found, placed)) if measured and found and placed else (),
        faults=tuple(_faults(found, placed, told, passage)) if measured and found and placed and told else (),
        places=_places(found, picture) if found else (),
        view=f"0 0 {picture.width_px or 1} {picture.height_px or 1}",
        looked=words.looked_words(found) if found else "",
        look=_look(picture, passage, told) if told else None,
        may_tell=may and (art is not None),
        **_choices(told),
    )


def _bound(told: PlateTold) -> str:
    of = told.art.hand_in
    told_words = _("{stage}, hand-in {n}, {file}")
    return told_words.format(stage=of.passage.stage.name, n=of.number or 0, file=told.art.file_name)


def _size(placed: PlacedPicture) -> tuple[float, float]:
    return placed.width_mm, placed.height_mm


def _figures(found: PlateFound, placed: PlacedPicture) -> list[str]:
    area = _("Finished area: {area:g} cm²").format(area=plate_area_cm2(found, _size(placed)))
    if found.shift is None:
        return [area, str(words.NOT_REGISTERED)]
    return [area, words.register_words(found.shift)]


def _faults(found: PlateFound, placed: PlacedPicture, told: PlateTold, passage: Passage) -> list[str]:
    limits = finish_limits(passage, told)
    art = told.art.width_px or 1, told.art.height_px or 1
    return [words.fault(one, limits) for one in check_plate(found, _size(placed), limits, art)]


def _places(found: PlateFound, picture: Picture) -> tuple[GuideShape, ...]:
    wide, high = picture.width_px or 1, picture.height_px or 1
    boxes = [*found.thin_places, *found.gap_places, *found.fold_places]
    return tuple(
        GuideShape("caution", *(round(v, 1) for v in (x0 * wide, y0 * high, (x1 - x0) * wide, (y1 - y0) * high)))
        for x0, y0, x1, y1 in boxes
    )


def _look(picture: Picture, passage: Passage, told: PlateTold) -> PlateLook | None:
    of_art = told.art.hand_in.passage
    of_art.book = passage.book
    placed, art = placed_on(picture, passage), placed_on(told.art, of_art)
    if placed is None or art is None or not (picture.has_preview and told.art.has_preview):
        return None
    width, height = told.art.width_px or 1, told.art.height_px or 1
    per_mm = width / art.width_mm
    return PlateLook(
        art_url=reverse("reviews:picture-preview", args=[told.art.pk]),
        plate_url=reverse("reviews:picture-preview", args=[picture.pk]),
        width=width,
        height=height,
        left=round((placed.left_mm - art.left_mm) * per_mm, 1),
        top=round((placed.top_mm - art.top_mm) * per_mm, 1),
        across=round(placed.width_mm * per_mm, 1),
        down=round(placed.height_mm * per_mm, 1),
        finish=told.finish,
        metal=told.metal,
    )


def _choices(told: PlateTold | None) -> dict[str, tuple[PlateChoice, ...]]:
    return {
        "finishes": _offered(words.FINISHES, told.finish if told else Finish.FOIL),
        "ways": _offered(words.WAYS, told.way if told else PlateWay.OVERPRINT),
        "metals": _offered(words.METALS, (told.metal if told else "") or Metal.GOLD),
    }


def _offered(said: Mapping[Any, Any], chosen: str) -> tuple[PlateChoice, ...]:
    return tuple(PlateChoice(str(one), str(words), one == chosen) for one, words in said.items())
