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
from reviews.queries.plates import PlateAt, PlateKnown, finish_limits, plates_at, plates_seen
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
    is_sheet: bool  # ink on nothing, as a spot channel is kept, rather than black on white
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
    """One plate. ``told`` is what it is for, "" where nobody said; ``state`` what is known of its measurement.

    ``channel`` is the spot channel of the art's file that it is, "" where it is a picture of its own.
    """

    id: int
    key: str
    channel: str
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
    """Say by picture what is known of its plates, for a paper (at most 2 queries; none where there is no plate).

    ``art`` is the picture that stands approved now, by spread.
    """
    plates = [plate for picture, passage in pairs for plate in plates_at(picture, passage)]
    seen = plates_seen(plates)
    lines: dict[int, list[str]] = {}
    for plate in plates:
        row, found = seen.told.get(plate.key), seen.known.get(plate.key)
        older = [str(words.OLDER_ART)] if row and _is_older(plate, row, art.get(plate.passage.spread_id)) else []
        said = [_untold(plate)] if row is None else _lines(plate, row, found, older)
        lines.setdefault(plate.picture.pk, []).extend(said)
    return lines


def plates_held(pairs: Sequence[tuple[Picture, Passage]]) -> dict[int, tuple[str, ...]]:
    """Say by picture which plates of a finish its file holds in spot channels (at most 1 query)."""
    plates = [plate for picture, passage in pairs for plate in plates_at(picture, passage) if plate.is_channel]
    seen, held = plates_seen(plates), dict[int, tuple[str, ...]]()
    for plate in plates:
        row, name = seen.told.get(plate.key), words.spot_name(plate.name, plate.number)
        line = words.held_words(name, (row.finish, row.way, row.metal) if row else None)
        held[plate.picture.pk] = (*held.get(plate.picture.pk, ()), line)
    return held


def _is_older(plate: PlateAt, told: PlateTold, art: Picture | None) -> bool:
    """Say whether a plate was made for other art than what is approved: never a channel of the art's own file."""
    return not plate.is_channel and not is_of(told, art)


def _untold(plate: PlateAt) -> str:
    if not plate.is_channel:
        return str(words.UNTOLD)
    return str(words.SPOT_UNTOLD).format(name=words.spot_name(plate.name, plate.number))


def _lines(plate: PlateAt, told: PlateTold, known: PlateKnown | None, older: list[str]) -> list[str]:
    what = words.told_words(told.finish, told.way, told.metal)
    if plate.is_channel:
        name = words.spot_name(plate.name, plate.number)
        head = _("Spot plate “{name}” in this file: {told}. There is no second file").format(name=name, told=what)
    else:
        head = _("Plate: {told}. Bound to {bound}, SHA-256 {sha256}").format(
            told=what, bound=_bound(told), sha256=told.art.sha256
        )
    found, placed = known.found if known else None, placed_on(plate.picture, plate.passage)
    if found is None or placed is None:
        return [head, *older, str(words.NOT_MEASURED)]
    faults = older + _faults(plate, found, placed, told) or [_("Nothing was found against the plate.")]
    return [head, *faults, *_figures(plate, found, placed), _looked(plate, found, placed, told)]


def plates_shown(
    pictures: Sequence[Picture], passage: Passage, seat: Seat, row: Sequence[Passage] | None = None
) -> list[PlateShown]:
    """Show the plates of a finish, or those in the art's own files (at most 3 queries; none where there is no plate).

    ``row``: the passages of its spread with their approved pictures, where they are at hand, for 1 query less.
    """
    plates = [plate for picture in pictures for plate in plates_at(picture, passage)]
    if not plates:
        return []
    seen, art = plates_seen(plates), None
    if passage.stage.kind == StageKind.FINISH:
        art = approved_before(passage) if row is None else approved_among(row, passage)
    may = permits.may(Role(seat.role), Deed.TELL_PLATE)
    shown = []
    for plate in plates:
        told, found = seen.told.get(plate.key), seen.known.get(plate.key)
        state = "untold" if told is None else "not-laid" if seen.asked[plate.key] is None else _state(found)
        shown.append(_shown(plate, told, found, state=state, art=art, may=may))
    return shown


def _state(known: PlateKnown | None) -> str:
    if known is None:
        return "not-measured"
    return "known" if known.found else "waits" if known.is_awaited else "not-read"


def _shown(
    plate: PlateAt, told: PlateTold | None, known: PlateKnown | None, *, state: str, art: Picture | None, may: bool
) -> PlateShown:
    picture, found = plate.picture, known.found if known else None
    placed = placed_on(picture, plate.passage)
    measured = told is not None and found is not None and placed is not None
    return PlateShown(
        id=picture.pk,
        key=f"{picture.pk}-{plate.channel}" if plate.is_channel else str(picture.pk),
        channel=str(plate.channel) if plate.is_channel else "",
        name=words.spot_name(plate.name, plate.number) if plate.is_channel else picture.file_name,
        told=words.told_words(told.finish, told.way, told.metal) if told else "",
        by=told.told_by.person.name if told else "",
        bound=_bound(told) if told else "",
        is_bound_to_older=told is not None and _is_older(plate, told, art),
        state=state,
        figures=tuple(_figures(plate, found, placed)) if measured and found and placed else (),
        faults=tuple(_faults(plate, found, placed, told)) if measured and found and placed and told else (),
        places=_places(found, picture) if found else (),
        view=f"0 0 {picture.width_px or 1} {picture.height_px or 1}",
        looked=_looked(plate, found, placed, told) if measured and found and placed and told else "",
        look=_look(plate, told) if told else None,
        may_tell=may and (plate.is_channel or art is not None),
        **_choices(told),
    )


def _bound(told: PlateTold) -> str:
    of = told.art.hand_in
    told_words = _("{stage}, hand-in {n}, {file}") if of.number else _("{stage}, this draft, {file}")
    return told_words.format(stage=of.passage.stage.name, n=of.number, file=told.art.file_name)


def _size(placed: PlacedPicture) -> tuple[float, float]:
    return placed.width_mm, placed.height_mm


def _figures(plate: PlateAt, found: PlateFound, placed: PlacedPicture) -> list[str]:
    area = _("Finished area: {area:g} cm²").format(area=plate_area_cm2(found, _size(placed)))
    if plate.is_channel:
        return [area, str(words.SAME_FILE)]
    if found.shift is None:
        return [area, str(words.NOT_REGISTERED)]
    return [area, words.register_words(found.shift)]


def _faults(plate: PlateAt, found: PlateFound, placed: PlacedPicture, told: PlateTold) -> list[str]:
    limits = finish_limits(plate.passage, told)
    art = told.art.width_px or 1, told.art.height_px or 1
    faults = check_plate(found, _size(placed), limits, art)
    return [words.fault(one, limits, is_channel=plate.is_channel) for one in faults]


def _looked(plate: PlateAt, found: PlateFound, placed: PlacedPicture, told: PlateTold) -> str:
    px_per_mm = found.width_px / placed.width_mm
    return words.looked_words(found, finish_limits(plate.passage, told), px_per_mm, is_channel=plate.is_channel)


def _places(found: PlateFound, picture: Picture) -> tuple[GuideShape, ...]:
    wide, high = picture.width_px or 1, picture.height_px or 1
    boxes = [*found.thin_places, *found.gap_places, *found.fold_places]
    return tuple(
        GuideShape("caution", *(round(v, 1) for v in (x0 * wide, y0 * high, (x1 - x0) * wide, (y1 - y0) * high)))
        for x0, y0, x1, y1 in boxes
    )


def _look(plate: PlateAt, told: PlateTold) -> PlateLook | None:
    picture, passage = plate.picture, plate.passage
    of_art = told.art.hand_in.passage
    of_art.book = passage.book
    placed, art = placed_on(picture, passage), placed_on(told.art, of_art)
    if placed is None or art is None or not (picture.has_preview and told.art.has_preview):
        return None
    width, height = told.art.width_px or 1, told.art.height_px or 1
    per_mm = width / art.width_mm
    sheet = reverse("reviews:picture-plate", args=[picture.pk, plate.number]) if plate.is_channel else ""
    return PlateLook(
        art_url=reverse("reviews:picture-preview", args=[told.art.pk]),
        plate_url=sheet or reverse("reviews:picture-preview", args=[picture.pk]),
        is_sheet=plate.is_channel,
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
