"""How the new version lies on the approved one, also when it was handed in turned, mirrored, squeezed, or as a part.

The plain alignment is tried first. What it cannot lay is tried in the few ways in which a picture goes wrong on its way
here; each can be undone exactly, and only one that then lies surely is believed, since more ways are more chances for
two strangers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from reviews.imaging.arrays import Matrix, Pixels
from reviews.imaging.changes.coarse_search import COARSE_PX, guesses
from reviews.imaging.changes.fields import PreparedPicture, TooNarrow, prepare, reduced
from reviews.imaging.changes.findings import Alignment, Reading, Remark
from reviews.imaging.changes.oddities import Witnesses, stretch_of, view_of, witnesses_of
from reviews.imaging.changes.photographs import Straightened, straightened_by_blocks, straightened_by_outline
from reviews.imaging.changes.registration import align
from reviews.imaging.changes.undoing import Undone, nearest_affine, resized, turned_and_mirrored

# Page outlines that differ by less are one outline cut twice, by more are two formats.
_LEAST_SQUEEZE, _MOST_SQUEEZE = 0.015, 0.25
_SHOWN = 0.5  # of the squeeze that the outlines speak of: blocks that show less of it speak of a crop
_GAIN = 0.10  # of the score: so much better it must lie once the squeeze is taken out
_HALF, _HALF_TOLERANCE = 2.0, 0.25  # the approved page is about twice as wide for its height
_FEW_TURNS = tuple(float(t) for t in np.arange(-3.0, 3.1, 1.5))
_FEW_SCALES = tuple(float(0.76 * 1.08**k) for k in range(8))
_MOST_TRIED = 2  # of the seven other ways to put a picture down
_STANDS_OUT = 1.15  # so much higher than the plain way's must be the peak of the coarse search for another one


@dataclass(frozen=True, eq=False, kw_only=True)
class Laid:
    """How the two lie: `alignment` of the picture as it came in, `upright` of the same with the oddity undone.

    Of a photograph at an angle `alignment` only comes near: `bent` is the map in perspective from the pixels of
    `b_rgb` to those of the picture as it came in, None of any other. `a` and `b` are A and `b_rgb`, prepared.
    """

    a: PreparedPicture
    b: PreparedPicture
    alignment: Alignment
    upright: Alignment
    b_rgb: Pixels
    oddities: tuple[Remark, ...] = ()
    bent: Matrix | None = None


def lay(a_rgb: Pixels, b_rgb: Pixels) -> Laid:
    """Lay B on A, plainly or after undoing what went wrong with it."""
    a, b = prepare(a_rgb), prepare(b_rgb)
    plain = align(a, b)
    best = Laid(a=a, b=b, alignment=plain, upright=plain, b_rgb=b_rgb)
    seen = _witnesses(best) if plain.is_usable else None
    squeezed = _squeezed(best, a_rgb, seen)
    if squeezed is not None:
        return squeezed
    if seen is not None:
        return _at_an_angle(best, seen) or best
    on_ground = straightened_by_outline(a, b_rgb)
    if on_ground is not None:
        return _bent_back(a, on_ground, b_rgb)
    return _put_down_otherwise(best) or _as_part(best, a_rgb) or best


def _witnesses(laid: Laid) -> Witnesses:
    full = _matrix(laid.alignment.readings[0])
    return witnesses_of(laid.a, laid.b, np.asarray(laid.b.to_work @ full @ np.linalg.inv(laid.a.to_work), np.float64))


def _at_an_angle(laid: Laid, seen: Witnesses) -> Laid | None:
    """Look whether B shows the page in perspective; then straighten it where that is sure, and never call it sure."""
    view = view_of(seen)
    if view is None:
        return None
    a, b_rgb, plain = laid.a, laid.b_rgb, laid.alignment
    put_straight = straightened_by_blocks(a, laid.b, b_rgb, plain, view)
    if put_straight is not None:
        return _bent_back(a, put_straight, b_rgb)
    doubted = replace(plain, state="check") if plain.state == "aligned" else plain
    told = Remark("at-an-angle", {"percent": view.percent, "straightened": 0})
    return replace(laid, alignment=doubted, upright=doubted, oddities=(told,))


def _bent_back(a: PreparedPicture, put_straight: Straightened, b_rgb: Pixels) -> Laid:
    """Speak of a straightened photograph as it came in: its map of the page only comes near, so it is never sure."""
    found, undone = replace(put_straight.found, state="check"), put_straight.undone
    readings = tuple(
        replace(r, a_to_b_px=six(nearest_affine(undone.to_given @ _matrix(r), a.full_size))) for r in found.readings[:1]
    )
    given = replace(found, readings=readings, b_size_px=(b_rgb.shape[1], b_rgb.shape[0]))
    told = Remark("at-an-angle", {"percent": put_straight.percent, "straightened": 1})
    upright = replace(found, readings=found.readings[:1])
    return Laid(
        a=a,
        b=put_straight.picture,
        alignment=given,
        upright=upright,
        b_rgb=undone.rgb,
        oddities=(told,),
        bent=undone.to_given,
    )


def _squeezed(laid: Laid, a_rgb: Pixels, seen: Witnesses | None) -> Laid | None:
    """Try B stretched to A's outline, where the two outlines differ a little, and no block speaks against it.

    A crop has another outline too, but its blocks lie as they lay; of a squeezed picture they lie apart as its
    outline says. That costs a tenth of laying the stretched picture.
    """
    b_rgb, plain = laid.b_rgb, laid.alignment
    (height, width), (height_a, width_a) = b_rgb.shape[:2], a_rgb.shape[:2]
    wider = (width / height) / (width_a / height_a)
    if not _LEAST_SQUEEZE <= abs(np.log(wider)) <= _MOST_SQUEEZE:
        return None
    shown = stretch_of(seen) if seen is not None and plain.state == "aligned" else None
    if shown is not None and shown / np.log(wider) < _SHOWN:
        return None
    across = round(width / wider) if wider > 1 else width
    undone = resized(b_rgb, across, height if wider > 1 else round(height * wider))
    b = prepare(undone.rgb)
    found = align(laid.a, b)
    before = plain.readings[0].score if plain.readings else 0.0
    if found.state != "aligned" or found.readings[0].score < before + _GAIN:
        return None
    percent = 100 * (1 - wider) if wider < 1 else 100 * (1 - 1 / wider)
    told = Remark("squeezed-across" if wider < 1 else "squeezed-down", {"percent": round(percent, 1)})
    return _given_back(replace(laid, b=b), found, undone, (told,))


def _as_part(laid: Laid, a_rgb: Pixels) -> Laid | None:
    """Try B as one page of the spread A, then as any part of it."""
    for left, part in _halves(a_rgb, laid.b_rgb):
        found = align(prepare(part), laid.b, wide=False)
        if found.state == "aligned":
            whole = replace(found, a_size_px=laid.a.full_size, readings=_moved(found, left))
            return replace(laid, alignment=whole, upright=whole)
    found = align(laid.b, laid.a)
    if found.state != "aligned":
        return None
    turned = tuple(_reversed(reading) for reading in found.readings)
    whole = replace(found, readings=turned, a_size_px=found.b_size_px, b_size_px=found.a_size_px)
    return replace(laid, alignment=whole, upright=whole)


def _halves(a_rgb: Pixels, b_rgb: Pixels) -> Iterator[tuple[int, Pixels]]:
    """Give A's left and right half with the column each begins at, where B may be one of them."""
    (height_a, width_a), (height, width) = a_rgb.shape[:2], b_rgb.shape[:2]
    if abs(np.log((width_a / height_a) / (width / height) / _HALF)) < _HALF_TOLERANCE:
        for left in (0, width_a - width_a // 2):
            yield left, np.ascontiguousarray(a_rgb[:, left : left + width_a // 2])


def _moved(found: Alignment, left: int) -> tuple[Reading, ...]:
    """Return readings of a part of A as readings of the whole of it."""
    out = []
    for reading in found.readings:
        a, b, c, d, e, f = reading.a_to_b_px
        out.append(replace(reading, a_to_b_px=(a, b, c - a * left, d, e, f - d * left)))
    return tuple(out)


def _reversed(reading: Reading) -> Reading:
    return replace(reading, a_to_b_px=six(np.asarray(np.linalg.inv(_matrix(reading)), np.float64)))


def _put_down_otherwise(laid: Laid) -> Laid | None:
    """Try B turned by quarters and mirrored; the coarse search says which of the seven are worth it."""
    a, b_rgb = laid.a, laid.b_rgb
    small_a, likely = _coarse(a), []
    for turns in range(4):
        for is_mirrored in (False, True):
            undone = turned_and_mirrored(b_rgb, turns, is_mirrored=is_mirrored)
            try:
                b = prepare(undone.rgb)
            except TooNarrow:
                continue
            top = guesses(small_a, _coarse(b), turns=_FEW_TURNS, scales=_FEW_SCALES, keep=1)
            likely.append((top[0].peak if top else 0.0, turns, is_mirrored, undone, b))
    least = _STANDS_OUT * max(
        (peak for peak, turns, is_mirrored, _, _ in likely if not (turns or is_mirrored)), default=0
    )
    likely.sort(key=lambda one: -one[0])
    for peak, turns, is_mirrored, undone, b in likely[:_MOST_TRIED]:
        if peak < least:
            break
        found = align(a, b, wide=False)
        if found.state == "aligned":
            told = tuple(_put_down(turns, is_mirrored=is_mirrored))
            return _given_back(replace(laid, b=b), found, undone, told)
    return None


def _coarse(picture: PreparedPicture) -> np.ndarray:
    factor = COARSE_PX / max(picture.size)
    return reduced(picture.field.z, factor)


def _put_down(turns: int, *, is_mirrored: bool) -> Iterator[Remark]:
    if is_mirrored:
        yield Remark("mirrored")
    if turns:
        yield Remark("turned", {"degrees": 90 * turns})


def _given_back(laid: Laid, found: Alignment, undone: Undone, oddities: tuple[Remark, ...]) -> Laid:
    """Speak of the picture as it came in: carry each reading on through what was undone; `laid.b` is it undone."""
    readings = tuple(replace(r, a_to_b_px=six(undone.to_given @ _matrix(r))) for r in found.readings)
    size = (laid.b_rgb.shape[1], laid.b_rgb.shape[0])
    given = replace(found, readings=readings, b_size_px=size)
    return replace(laid, alignment=given, upright=found, b_rgb=undone.rgb, oddities=oddities)


def _matrix(reading: Reading) -> Matrix:
    return np.vstack([np.array(reading.a_to_b_px).reshape(2, 3), [0.0, 0.0, 1.0]])


def six(m: Matrix) -> tuple[float, float, float, float, float, float]:
    """Return the six numbers of a 3 x 3 map of the plane."""
    a, b, c, d, e, f = (float(v) for v in m[:2].ravel())
    return a, b, c, d, e, f
