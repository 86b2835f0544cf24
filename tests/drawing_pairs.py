"""Two versions of one scene with the exact truth: the map between them, every edit, every figure's own motion."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tests.drawing_media import DRAW, Hand, Picture, Sheet, as_jpeg, owners, regraded
from tests.drawings import FIGURES, Cast, Figure, Floats, Rng, Scene, apply, make_figure, make_scene, similarity, tint

KINDS = (
    "sketch>sketch",
    "sketch>line",
    "sketch>ink",
    "sketch>full",
    "line>ink",
    "line>flats",
    "line>full",
    "flats>full",
    "full>full",
    "line>line",
    "flats>flats",
)
TRUTH_PX_PER_MM = 2.0
Box = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Edit:
    kind: str
    ident: int
    shift_mm: tuple[float, float]
    old_box: Box | None  # page mm in A, visible part only
    new_box: Box | None
    area_mm2: float


@dataclass(frozen=True)
class Recipe:
    """How a pair is made; the defaults are the ordinary case, the fields are what the stress rows turn."""

    kind: str
    seed: int
    width_px: int = 1800
    wobble: float = 1.0
    figure_jitter: float = 0.0
    n_figures: int | None = None
    n_hills: int | None = None
    edited_share: float | None = None
    part_scale: tuple[float, float] | None = None  # B shows part of the page, this much larger
    farthest_apart_mm: float | None = None  # how far the two hands put one and the same point apart, at the worst spot
    apart_rms_mm: float | None = None  # the same over the whole page
    art: str = "ours"  # or by other people: "others", and what scores are fitted on, "tuning"
    n_edits: int | None = None
    edit_kind: str | None = None
    move_mm: float | None = None
    is_still: bool = False
    has_small: bool = False  # most figures are 10 to 45 mm, as the small things of a crowded page are
    is_regraded: bool = False  # B comes from another hand's desk: other grade, fine light, few colours


@dataclass(frozen=True, eq=False)
class Pair:
    recipe: Recipe
    a: Picture
    b: Picture
    a_to_b: Floats  # 3x3, pixels of A -> pixels of B, integer = middle of a pixel
    mm_per_px: float
    width_mm: float
    edits: tuple[Edit, ...]
    motions: dict[int, Floats]  # figure -> page mm in A -> page mm in B, for figures in both
    owners_a: NDArray[np.int32]
    owners_b: NDArray[np.int32]
    changed: NDArray[np.bool_]  # at TRUTH_PX_PER_MM, A's page
    b_to_px: Floats  # page mm -> pixels of B
    apart_mm: tuple[float, float]  # what the two hands put one and the same point apart: rms, farthest


def box_of(mask: NDArray[np.bool_]) -> Box | None:
    ys, xs = np.nonzero(mask)
    if len(xs) < 4 * TRUTH_PX_PER_MM**2:
        return None
    k = TRUTH_PX_PER_MM
    return float(xs.min() / k), float(ys.min() / k), float((xs.max() + 1) / k), float((ys.max() + 1) / k)


def _about(figure: Figure, scale: float, degrees: float, shift: Floats) -> Floats:
    x, y = figure.placed[:2, 2]
    return similarity(1, 0, x + shift[0], y + shift[1]) @ similarity(scale, degrees, 0, 0) @ similarity(1, 0, -x, -y)


def _detail(rng: Rng, figure: Figure) -> tuple[Figure, int] | None:
    """Return the figure with one inner shape shifted or taken away, and which stroke it was."""
    size = float(np.hypot(*figure.placed[:2, 0]))
    able = [
        i for i, s in enumerate(figure.strokes) if s.is_inner and s.fill and float(np.ptp(s.points, 0).max()) * size > 5
    ]
    if not able:
        return None
    i = int(rng.choice(able))
    strokes = list(figure.strokes)
    if rng.random() < 0.5:
        del strokes[i]
    else:
        angle, far = rng.uniform(0, 6.28), float(np.ptp(strokes[i].points, 0).max()) * rng.uniform(0.6, 1.1)
        strokes[i] = strokes[i].moved(lambda points: points + far * np.array([np.cos(angle), np.sin(angle)]))
    return replace(figure, strokes=tuple(strokes)), i


def _recolour(rng: Rng, figure: Figure) -> Figure:
    outer = [i for i, s in enumerate(figure.strokes) if s.fill and not s.is_inner]
    i = max(outer, key=lambda j: float(np.prod(np.ptp(figure.strokes[j].points, 0))))
    old, new = figure.strokes[i].fill, tint(rng)
    while old is None or sum(abs(p - q) for p, q in zip(old, new, strict=True)) < 120:
        new = tint(rng)
    strokes = tuple(replace(s, fill=new) if s.fill == old else s for s in figure.strokes)
    return replace(figure, strokes=strokes)


WEIGHTS = {"move": 0.3, "remove": 0.14, "add": 0.14, "scale": 0.1, "rotate": 0.1, "replace": 0.1, "detail": 0.12}


def _kinds(recipe: Recipe, rng: Rng, n: int) -> list[str]:
    if recipe.edit_kind:
        return [recipe.edit_kind] * n
    weights = dict(WEIGHTS)
    if recipe.kind in ("full>full", "flats>flats"):
        weights["recolour"] = 0.18
    p = np.array(list(weights.values()))
    return [str(k) for k in rng.choice(list(weights), n, p=p / p.sum())]


OTHER_FIGURES = ("house", "tree", "dormouse", "boat", "heron", "balloon", "toad")


def _changed_figure(rng: Rng, kind: str, figure: Figure, far: float, cast: Cast) -> tuple[Figure | None, Floats | None]:
    """Return the figure as it stands in B, and its motion in page mm."""
    if kind == "remove":
        return None, None
    if kind == "replace":
        names = [n for n in (OTHER_FIGURES if cast is FIGURES else cast) if n != figure.kind]
        return make_figure(rng, figure.ident + 1000, figure.placed, str(rng.choice(names)), cast), None
    if kind == "recolour":
        return _recolour(rng, figure), np.eye(3)
    angle = rng.uniform(0, 2 * np.pi)
    shift = far * np.array([np.cos(angle), np.sin(angle)]) if kind == "move" else np.zeros(2)
    scale = float(rng.choice([rng.uniform(0.7, 0.85), rng.uniform(1.18, 1.4)])) if kind == "scale" else 1.0
    turn = float(rng.uniform(8, 25) * rng.choice([-1, 1])) if kind == "rotate" else 0.0
    motion = _about(figure, scale, turn, shift)
    return replace(figure, placed=motion @ figure.placed), motion


def edit_scene(
    scene: Scene, recipe: Recipe, rng: Rng, cast: Cast = FIGURES
) -> tuple[Scene, Scene, list[tuple[str, int, int]], dict[int, Floats]]:
    """Return scenes A and B, the edits as (kind, figure, stroke or -1), and every common figure's motion."""
    movable = [f.ident for f in scene.figures if f.kind != "hill"]
    n = 0 if rng.random() < 0.12 else int(rng.integers(1, 6))
    if recipe.edited_share is not None:
        n = round(recipe.edited_share * len(movable))
    n = recipe.n_edits if recipe.n_edits is not None else n
    chosen = [int(i) for i in rng.permutation(movable)[:n]]
    before, after = {f.ident: f for f in scene.figures}, {f.ident: f for f in scene.figures}
    order, motions, edits = [f.ident for f in scene.figures], {f.ident: np.eye(3) for f in scene.figures}, []
    for ident, kind in zip(chosen, _kinds(recipe, rng, len(chosen)), strict=True):
        stroke = -1
        if kind == "add":
            del before[ident], motions[ident]
        elif kind == "detail":
            found = _detail(rng, after[ident])
            if found is None:
                continue
            after[ident], stroke = found
        else:
            far = recipe.move_mm or float(rng.uniform(2.5, 25))
            figure, motion = _changed_figure(rng, kind, after[ident], far, cast)
            del after[ident]
            if figure is not None:
                after[ident] = figure
            if motion is None:
                del motions[ident]
            else:
                motions[ident] = motion
        edits.append((kind, ident, stroke))
    scene_a = replace(scene, figures=tuple(before[i] for i in order if i in before))
    return scene_a, replace(scene, figures=tuple(after[i] for i in order if i in after)), edits, motions


def _jittered(scene: Scene, rng: Rng, amount: float) -> Scene:
    """Return the scene redrawn freely: every figure resized 2.5 %, turned 1.5 degrees, shifted 0.6 mm."""

    def loose(figure: Figure) -> Figure:
        if amount == 0 or figure.kind == "hill":
            return figure
        u = rng.uniform(-1, 1, 4) * amount
        return replace(figure, placed=_about(figure, 1 + 0.025 * u[0], 1.5 * u[1], 0.6 * u[2:]) @ figure.placed)

    return replace(scene, figures=tuple(loose(f) for f in scene.figures))


def _with_small_figures(scene: Scene, rng: Rng) -> Scene:
    """Return the scene with two in three of its figures drawn at a quarter to half of their size."""

    def shrunk(figure: Figure) -> Figure:
        if figure.kind == "hill" or rng.random() < 1 / 3:
            return figure
        return replace(figure, placed=_about(figure, float(rng.uniform(0.22, 0.5)), 0.0, np.zeros(2)) @ figure.placed)

    return replace(scene, figures=tuple(shrunk(f) for f in scene.figures))


def _sheet_b(recipe: Recipe, scene: Scene, k: float, rng: Rng, hand: Hand) -> Sheet:
    if recipe.is_still:
        return Sheet(similarity(k, 0, -0.5, -0.5), recipe.width_px, round(scene.height_mm * k), hand)
    grow = 1 + rng.uniform(-0.1, 0.1, 2)
    size = np.round(np.array([recipe.width_px, scene.height_mm * k]) * grow).astype(int)
    scale, turn = rng.uniform(*(recipe.part_scale or (0.8, 1.25))), rng.uniform(-5, 5)
    shift = rng.uniform(-0.1, 0.1, 2) * size
    middle = np.array([scene.width_mm, scene.height_mm]) / 2
    if recipe.part_scale:  # part of the page: look at a spot away from its middle
        middle = middle + rng.uniform(-0.2, 0.2, 2) * (scene.width_mm, scene.height_mm)
    to_px = similarity(1, 0, *((size - 1) / 2 + shift)) @ similarity(k * scale, turn, 0, 0) @ similarity(1, 0, *-middle)
    return Sheet(to_px, int(size[0]), int(size[1]), hand)


def _edit_truth(
    scene_a: Scene,
    scene_b: Scene,
    edits: list[tuple[str, int, int]],
    motions: dict[int, Floats],
    on_b: NDArray[np.bool_],
) -> tuple[tuple[Edit, ...], NDArray[np.bool_]]:
    ids = owners(scene_a), owners(scene_b)
    changed, out = np.zeros(ids[0].shape, bool), []
    for kind, ident, stroke in edits:
        if kind in ("detail", "recolour"):
            masks = tuple(m & on_b for m in _inner_masks(scene_a, scene_b, ident, stroke))
        else:
            mask_b = (ids[1] == ident) | (ids[1] == ident + 1000)
            masks = (ids[0] == ident) & on_b, mask_b & on_b
        boxes = box_of(masks[0]), box_of(masks[1])
        figure = scene_a.figure(ident)
        shift = np.zeros(2)
        if kind == "move" and figure is not None:
            shift = apply(motions[ident], figure.placed[None, :2, 2])[0] - figure.placed[:2, 2]
        changed |= masks[0] | masks[1]
        area = max(masks[0].sum(), masks[1].sum()) / TRUTH_PX_PER_MM**2
        out.append(Edit(kind, ident, (float(shift[0]), float(shift[1])), *boxes, float(area)))
    return tuple(out), changed


def _inner_masks(
    scene_a: Scene, scene_b: Scene, ident: int, stroke: int
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return where the changed strokes of one figure are in A and in B (nowhere, if taken away)."""
    mine, other = scene_a.figure(ident), scene_b.figure(ident)
    assert mine is not None and other is not None
    which = (stroke,)
    if stroke < 0:  # recoloured: the strokes whose fill differs
        which = tuple(i for i, (s, t) in enumerate(zip(mine.strokes, other.strokes, strict=True)) if s.fill != t.fill)
    first = owners(scene_a, sub=(ident, which)) == -1
    is_kept = len(other.strokes) == len(mine.strokes)
    return first, (owners(scene_b, sub=(ident, which)) == -1 if is_kept else np.zeros_like(first))


def _page_on(sheet: Sheet, scene: Scene) -> NDArray[np.bool_]:
    """Return which points of the page (truth grid) lie on the sheet, 2 mm inside its border."""
    k = TRUTH_PX_PER_MM
    ys, xs = np.mgrid[0 : round(scene.height_mm * k), 0 : round(scene.width_mm * k)]
    at = apply(sheet.to_px, np.stack([(xs.ravel() + 0.5) / k, (ys.ravel() + 0.5) / k], 1))
    rim = 2 * sheet.px_per_mm
    inside = (at > rim).all(1) & (at[:, 0] < sheet.width_px - rim) & (at[:, 1] < sheet.height_px - rim)
    return inside.reshape(xs.shape)


def _cast(recipe: Recipe, tag: int) -> Cast:
    if recipe.art == "ours":
        return FIGURES
    from tests.drawings_of_others import cast_of  # needs a package that only some machines have

    part: Literal["tuning", "others"] = "tuning" if recipe.art == "tuning" else "others"
    return cast_of(np.random.default_rng([recipe.seed, tag, 8]), part)


def _two_hands(recipe: Recipe, rng: Rng, scene: Scene) -> tuple[Hand, Hand, tuple[float, float]]:
    """Return the hand of either version, and how far apart they put one and the same point: rms, farthest (mm)."""
    one, other = (Hand(rng, float(rng.uniform(0.1, 0.35)) * recipe.wobble) for _ in range(2))
    across, down = np.meshgrid(np.arange(0, scene.width_mm, 4.0), np.arange(0, scene.height_mm, 4.0))
    page = np.stack([across.ravel(), down.ravel()], 1)
    apart = np.hypot(*(one.move(page) - other.move(page)).T)
    rms, farthest = float(np.sqrt((apart**2).mean())), float(apart.max())
    more = 1.0
    if recipe.farthest_apart_mm:
        more = recipe.farthest_apart_mm / farthest
    elif recipe.apart_rms_mm:
        more = recipe.apart_rms_mm / rms
    for hand in (one, other):
        hand.widened(more)
    return one, other, (rms * more, farthest * more)


def turned_round(pair: Pair) -> Pair:
    """Return the pair with the two pictures and the map between them exchanged; the rest stays as it was."""
    return replace(pair, a=pair.b, b=pair.a, a_to_b=np.linalg.inv(pair.a_to_b))


def make_pair(recipe: Recipe) -> Pair:
    """Return a pair drawn from its seed alone: the same recipe gives the same bytes."""
    tag = KINDS.index(recipe.kind) if recipe.kind in KINDS else 99
    rng, cast = np.random.default_rng([recipe.seed, tag, 7]), _cast(recipe, tag)
    scene = make_scene(rng, n_figures=recipe.n_figures, n_hills=recipe.n_hills, cast=cast)
    if recipe.has_small:
        scene = _with_small_figures(scene, np.random.default_rng([recipe.seed, tag, 10]))
    scene_a, scene_b, edits, motions = edit_scene(scene, recipe, rng, cast)
    k = recipe.width_px / scene.width_mm
    medium_a, medium_b = recipe.kind.split(">")
    # Half of the same-medium pairs are the same file worked over: same hand, same brush marks.
    same_file = medium_a == medium_b != "sketch" and rng.random() < 0.5
    hand_a, hand_b, apart_mm = _two_hands(recipe, rng, scene)
    sheet_a = Sheet(similarity(k, 0, -0.5, -0.5), recipe.width_px, round(scene.height_mm * k), hand_a)
    sheet_b = _sheet_b(recipe, scene, k, rng, hand_a if same_file else hand_b)
    paint = [int(v) for v in rng.integers(0, 2**31, 2)]
    drawn = _jittered(scene_b, rng, recipe.figure_jitter)
    a = DRAW[medium_a](scene_a, sheet_a, np.random.default_rng(paint[0]))
    b = DRAW[medium_b](drawn, sheet_b, np.random.default_rng(paint[0 if same_file else 1]))
    if recipe.is_regraded:
        b = regraded(b, sheet_b.px_per_mm, np.random.default_rng([recipe.seed, tag, 9]))
    truth, changed = _edit_truth(scene_a, scene_b, edits, motions, _page_on(sheet_b, scene))
    a, b = (as_jpeg(p, int(rng.integers(70, 96))) for p in (a, b))
    return Pair(
        recipe,
        a,
        b,
        sheet_b.to_px @ np.linalg.inv(sheet_a.to_px),
        1 / k,
        scene.width_mm,
        truth,
        motions,
        owners(scene_a),
        owners(scene_b),
        changed,
        sheet_b.to_px,
        (0.0, 0.0) if same_file else apart_mm,
    )
