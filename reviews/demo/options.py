"""Idea options: for each opening several really different ways to stage it, as rough as ideas are."""

from collections.abc import Callable
from math import cos, sin

from reviews.demo import company, cover, openings, props
from reviews.demo.curves import arc, egg
from reviews.demo.marks import HOURS, Drawing, Light, Mark, Scene, mixed, placed, recoloured, stroke
from reviews.demo.openings import H, W
from reviews.demo.scenery import fern, grass, hill, hollow_tree, poplar, reeds, sky, water, willow
from reviews.demo.tansy import ASLEEP, CARRYING, HUGGING, KNEELING, RUNNING, SITTING, STANDING, TIPTOE, from_behind, head, tansy

NIGHT = HOURS["night"]
DIM = "#33505c"


def _night(seed: str, horizon: float = 150, n: int = 34) -> Drawing:
    return [*sky(W, H, NIGHT, horizon, 6, seed), *props.stars((8, 6, W - 8, horizon * 0.7), n, seed)]


def _scene(name: str, marks: Drawing, light: tuple[float, float] = (253, 128)) -> Scene:
    return Scene(name, W, H, NIGHT, marks, Light(light, 150))


def _pail_in_arms(tip: float = 0) -> Drawing:
    return placed(props.pail(True, tip), (36, 42), 0.95)


def doorway() -> Scene:
    """4-5: from inside the stump, looking out past her through the round door."""
    room = [Mark(egg(253, 128, 400, 300), "#2a1d1c", 0, detail=0), Mark(egg(270, 140, 132, 122, n=50), "#4b6aa8", 1.4, raw=True, detail=0)]
    out = [*placed(props.moon(24), (330, 76)), Mark(arc(270, 140, 131, 121, 14, 166, 40), "#3c5d7a", 0.7, detail=0, plane=0.6), *placed(poplar(50, "#2d4668", 0.6), (210, 168))]
    return _scene("doorway", [*room, *out, *placed(tansy(STANDING, placed(props.pail(False), (34, 42), 0.9)), (240, 140), 1.15), stroke(arc(270, 140, 140, 130, 160, 380, 40), 2.2),
                              *placed(props.stone(120, 50, "dw", "#3a2a26"), (60, 262)), *placed(props.stone(90, 40, "dx", "#3a2a26"), (460, 262))])


def great_sky() -> Scene:
    """4-5: nearly all sky; the moon enormous, the stump and she very small."""
    return _scene("great sky", [*_night("gs", 230, 60), *placed(props.moon(74), (356, 104)), *hill([(-6, 222), (160, 206), (330, 226), (512, 214)], DIM, 0.1, grass=3, seed="gs"),
                                *placed(hollow_tree(44, NIGHT), (84, 220)), *placed(props.door(16), (84, 220)), *placed(tansy(STANDING, placed(props.pail(False), (36, 46), 0.9)), (140, 196), 0.28)])


def through_reeds() -> Scene:
    """6-7: from the far bank through tall reeds; she is a small light on the other side."""
    return _scene("through reeds", [*_night("tr", 96), *placed(props.moon(20), (253, 44)), *hill([(-6, 90), (200, 76), (512, 92)], NIGHT.far, 0.8), *water(98, W, NIGHT, "tr", shine=(253, 102)),
                                    *placed(tansy(KNEELING, placed(props.pail(False, 30), (62, 36), 0.9)), (196, 84), 0.5), *placed(props.stone(90, 26, "tr"), (190, 122)),
                                    *reeds((90, 270), 22, 250, NIGHT, "tr1", -0.1, 170), *reeds((430, 270), 22, 240, NIGHT, "tr2", -0.1, 150)])


def paws_and_pail() -> Scene:
    """6-7: very close: paws, the pail's rim, and the moon breaking on the water."""
    return _scene("paws and pail", [*water(-4, W, NIGHT, "pp"), *placed(props.ripples(230, 5, "#fff0c0"), (330, 180)), *placed([Mark(egg(0, 0, 92, 34), "#fff3c4", 0.9, raw=True, detail=0, tone=0.0)], (330, 180)),
                                    *placed(tansy(KNEELING, placed(props.pail(False, 40, "left"), (64, 34), 1.0)), (92, 66), 2.3)])


def lit_from_below() -> Scene:
    """8-9: her face very large over the rim, lit from below."""
    return _scene("lit from below", [*_night("lb", 250, 20), *placed(props.glow_beam(150), (250, 170)), *placed(head("wide", "oh"), (200, 112), 3.3, turn=14), *placed(company.snail(), (420, 196), 1.6, flip=True),
                                     *placed(props.pail(True, 0, "down"), (300, 196), 4.4)])


def from_inside_the_pail() -> Scene:
    """8-9: from under the water, looking up: a ring of sky and two faces."""
    ring = [Mark(egg(253, 128, 330, 220), "#203848", 0, detail=0), Mark(egg(253, 124, 150, 116, n=60), "#10204a", 1.6, raw=True, detail=0), *props.stars((170, 50, 340, 150), 22, "ip")]
    rings = [stroke(arc(253, 124, 160 + 14 * k, 125 + 12 * k, 20 + 40 * k, 160 + 50 * k, 30), 1.0) for k in range(4)]
    return _scene("from inside the pail", [*ring, *rings, *placed(head("wide", "oh"), (168, 128), 2.0, turn=-8), *placed(company.snail(), (356, 92), 1.3, flip=True, turn=-20)])


def along_the_ridge() -> Scene:
    """10-11: a procession in silhouette along the ridge, moths trailing like sparks."""
    walkers = recoloured([*placed(tansy(CARRYING, _pail_in_arms()), (330, 118), 0.6), *placed(company.snail(), (226, 172), 0.6), *placed(company.heron(), (130, 128), 0.5)], "#141c38")
    return _scene("along the ridge", [*_night("ar", 220, 60), *hill([(-6, 186), (130, 172), (300, 168), (512, 140)], "#16263c", 0.0, grass=4, seed="ar"), *walkers, *placed(props.glow_beam(26), (354, 142)),
                                      *company.chorus([(290, 120), (262, 96), (226, 110), (186, 84), (150, 96), (108, 66)], 0.36)], (354, 142))


def path_from_behind() -> Scene:
    """10-11: from behind her; the path winds up towards the wood."""
    bends = [Mark(egg(x, y, rx, ry), "#6f7f78", 0.5, detail=0, plane=0.1) for x, y, rx, ry in ((300, 138, 14, 3), (262, 158, 26, 6), (300, 186, 46, 10), (250, 232, 110, 26))]
    return _scene("path from behind", [*_night("pb", 130), *hill([(-6, 130), (140, 100), (320, 120), (512, 92)], NIGHT.far, 0.7), *hill([(-6, 150), (253, 132), (512, 150)], DIM, 0.2, grass=4, seed="pb"), *bends,
                                       *[m for x, s in ((60, 90), (110, 120), (400, 130), (450, 96), (490, 140)) for m in placed(poplar(s, "#223f55", 0.3), (x, 170))], *placed(from_behind(-6), (236, 152), 1.1),
                                       *placed(props.pail(True), (286, 180), 0.9)])


def between_his_legs() -> Scene:
    """12-13: only Old Heron's legs, like two trees; she stands between them."""
    legs = [Mark(egg(253, -40, 150, 70), "#5b6f8f", 1.2, detail=0), *placed(company.heron(), (236, -140), 3.6)]
    return _scene("between his legs", [*_night("bl", 170), *water(180, W, NIGHT, "bl"), *hill([(-6, 222), (253, 212), (512, 224)], DIM, 0.1, grass=4, seed="bl"), *legs, *placed(tansy(TIPTOE, _pail_in_arms()), (330, 150), 0.9)])


def eye_to_eye() -> Scene:
    """12-13: his head fills the left page; hers is as small as his eye."""
    return _scene("eye to eye", [*_night("ee", 250, 30), *placed(company.heron_head("open"), (120, 110), 5.4, turn=12), *placed(tansy(TIPTOE, _pail_in_arms()), (430, 172), 0.8, flip=True),
                                 *hill([(300, 262), (400, 236), (512, 232)], DIM, 0.1, grass=4, seed="ee")])


def ring_of_moths() -> Scene:
    """20-21: moths in a ring round the pail; she sits below and listens."""
    ring = [(253 + x * 2.2, 104 + y * 1.7) for x, y in props.lantern_moth_ring(62)]
    return _scene("ring of moths", [*_night("rm", 220, 20), *placed(props.glow_beam(110), (253, 110)), *company.chorus(ring, 0.8), *hill([(-6, 226), (253, 214), (512, 226)], DIM, 0.1, grass=3, seed="rm"),
                                    *placed(props.pail(True), (253, 150), 1.6), *placed(tansy(SITTING), (150, 164), 0.9)])


def rehearsal() -> Scene:
    """20-21: the moths in rows on branches as a choir, Tansy beating time with a straw."""
    rows = [(60 + 50 * k, 60 + 8 * (k % 2) + 56 * r) for r in range(3) for k in range(4)]
    branches = [stroke([(20, 82 + 56 * r), (140, 78 + 56 * r), (256, 88 + 56 * r)], 2.0) for r in range(3)]
    return _scene("rehearsal", [*_night("rh", 240, 20), *branches, *company.chorus(rows, 0.85), *placed(tansy(TIPTOE), (390, 140), 1.15, flip=True), stroke([(352, 124), (316, 92)], 1.2), *placed(props.pail(True), (452, 180), 1.3),
                                *grass(226, -6, 512, 8, DIM, "rh", 0.0)])


def spiral_from_above() -> Scene:
    """20-21: from above, moths in a spiral falling into the light."""
    places = [(253 + (24 + 11 * k) * cos(k * 0.62) * 1.5, 128 + (24 + 11 * k) * sin(k * 0.62) * 0.86) for k in range(18)]
    return _scene("spiral from above", [*hill([(-6, -4), (512, -4), (520, -4)], DIM, 0.1), *placed(props.pail_from_above(44), (253, 128)), *placed(props.moon(26), (253, 128)), *company.chorus(places[3:], 0.62),
                                        *placed(head("glad"), (126, 214), 1.0, turn=-30)])


def under_the_blanket() -> Scene:
    """20-21: indoors; she hides the pail under her blanket, light leaks, moths at the window."""
    window = [Mark(egg(390, 90, 58, 58, n=40), "#0f1a40", 1.4, raw=True, detail=0), stroke([(390, 32), (390, 148)], 1.2), stroke([(332, 90), (448, 90)], 1.2)]
    bed = [Mark(arc(180, 210, 150, 90, 180, 360, 30), "#8a5a6a", 1.2, detail=0), *placed(props.glow_beam(50), (196, 166)), *placed(head("wide", "worry"), (120, 128), 1.4, turn=8)]
    return _scene("under the blanket", [Mark(egg(253, 128, 400, 300), "#3a2a2c", 0, detail=0), *window, *company.chorus([(366, 70), (410, 64), (372, 112), (416, 110), (300, 60)], 0.7), *bed,
                                        *hill([(-6, 216), (253, 212), (512, 216)], "#4a3430", 0.0)])


def one_great_moth() -> Scene:
    """20-21: one moth, close, larger than the page; its eye-spots hold the light."""
    return _scene("one great moth", [*_night("om", 260, 40), *placed(company.moth(1.0), (300, 130), 7.0, turn=-10), *placed(tansy(TIPTOE, _pail_in_arms()), (76, 172), 0.8)])


def wide_awake() -> Scene:
    """22-23: in bed beside the shining pail, one eye shut, one open."""
    bed = [Mark(arc(200, 214, 176, 70, 180, 360, 30), "#6d5a8a", 1.2, detail=0), *placed(tansy(ASLEEP), (150, 130), 1.2)]
    return _scene("wide awake", [Mark(egg(253, 128, 400, 300), "#33262c", 0, detail=0), *placed(props.glow_beam(120), (390, 130)), *bed, *placed(props.pail(True), (392, 132), 1.9), *hill([(-6, 214), (253, 212), (512, 214)], "#4a3430", 0.0)])


def cut_through_the_stump() -> Scene:
    """22-23: the stump cut open like a doll's house, somebody awake in each room."""
    rooms = [Mark(egg(x, y, 62, 30, n=36), "#d8b878", 1.0, raw=True, detail=0) for x, y in ((253, 70), (222, 138), (284, 206))]
    folk = [*placed(company.chorus([(-20, 0), (10, -6), (30, 6)], 0.6), (253, 72)), *placed(tansy(SITTING), (206, 122), 0.48), *placed(props.pail(True), (252, 134), 0.6), *placed(company.snail(), (284, 226), 0.7)]
    return _scene("cut through the stump", [*_night("ct", 240, 40), *hill([(-6, 240), (512, 236), (520, 236)], DIM, 0.1, grass=4, seed="ct"), *placed(hollow_tree(250, NIGHT), (253, 250)), *rooms, *folk,
                                            *placed(company.heron(), (440, 150), 0.9, flip=True)])


def blazing_window() -> Scene:
    """22-23: outside in the dark; one window blazes and everybody stands looking at it."""
    crowd = recoloured([*placed(company.heron(), (410, 140), 0.95, flip=True), *placed(company.toad(False), (330, 222), 0.7, flip=True), *placed(company.snail(), (260, 226), 0.8, flip=True)], "#131a30")
    return _scene("blazing window", [*_night("bw", 230, 8), *placed(hollow_tree(190, NIGHT), (110, 226)), *placed(props.glow_beam(80), (112, 128)), Mark(egg(112, 128, 26, 26), "#ffe6a0", 1.0, raw=True, tone=0.0, detail=0),
                                     stroke([(112, 102), (112, 154)], 1.0), stroke([(86, 128), (138, 128)], 1.0), *hill([(-6, 228), (253, 222), (512, 230)], "#18283a", 0.0, grass=4, seed="bw"), *crowd])


def night_watch() -> Scene:
    """22-23: a strip of small scenes, each awake in its own place."""
    panels: Drawing = [Mark(egg(253, 128, 400, 300), "#1b2748", 0, raw=True, detail=0)]
    for k, who in enumerate((placed(tansy(SITTING), (-6, -14), 0.9), placed(company.heron(), (-4, 0), 0.7), placed(company.toad(True), (0, 30), 0.8), placed(company.snail(), (0, 40), 1.3))):
        panels += [Mark(egg(70 + 122 * k, 128, 54, 96, n=44), ("#d8b878", "#5c6f9c", "#4c7a74", "#7a6a8a")[k], 1.2, raw=True, detail=0), *placed(who, (70 + 122 * k, 128))]
    return _scene("night watch", panels)


def the_empty_sky() -> Scene:
    """24-25: from behind; she looks for the moon and there is none."""
    return _scene("the empty sky", [*_night("es", 240, 14), *hill([(-6, 220), (180, 196), (320, 200), (512, 222)], DIM, 0.1, grass=5, seed="es"), *placed(from_behind(8), (236, 148), 1.0), *placed(props.pail(True), (298, 176), 0.8)])


def the_dark_from_above() -> Scene:
    """24-25: from a heron's height: the black tarn, dark hills, one spark."""
    shore = [Mark(egg(270, 140, 170, 84, -8, n=60), "#0d1730", 1.4, raw=True, detail=0), *[m for x, y in ((70, 60), (110, 210), (440, 70), (460, 200), (250, 24)) for m in placed(props.stone(60, 44, f"da{x}", "#22384a"), (x, y))]]
    return _scene("the dark from above", [*hill([(-6, -6), (253, -6), (512, -6)], "#2c4250", 0.1), *shore, *placed(props.glow_beam(20), (122, 150)), *placed(company.heron_flying(0.4), (356, 96), 1.2, turn=-10)])


def carried_home() -> Scene:
    """24-25: on Old Heron's back, the pail swinging, the dark country below."""
    rider = placed(tansy(SITTING, _pail_in_arms()), (286, 68), 0.66)
    return _scene("carried home", [*_night("ch", 240, 40), *hill([(-6, 236), (160, 216), (340, 240), (512, 222)], NIGHT.far, 0.5), *placed(company.heron_flying(1.0), (250, 116), 1.9, turn=-6), *rider])


def waiting_on_the_shore() -> Scene:
    """24-25: all of them in a row in silhouette, waiting for her to decide."""
    row = recoloured([*placed(company.heron(), (90, 130), 0.9), *placed(company.toad(False), (220, 214), 0.8), *placed(company.snail(), (320, 218), 0.9), *placed(tansy(HUGGING, placed(props.pail(True, 0, "down"), (27, 4), 1.0)), (420, 150), 0.95, flip=True)], "#12182e")
    return _scene("waiting on the shore", [*_night("ws", 200, 20), *water(196, W, NIGHT, "ws"), *hill([(-6, 220), (253, 216), (512, 222)], "#141f36", 0.0, grass=3, seed="ws"), *row, *placed(props.glow_beam(30), (394, 152))])


def running_back() -> Scene:
    """24-25: she runs, the light streaming out behind her."""
    trail = [Mark(egg(300 - 34 * k, 150 - 5 * k, 26 - 2 * k, 9), mixed("#ffe6a0", NIGHT.sky[1], k / 9), 0, raw=True, detail=0) for k in range(8)]
    return _scene("running back", [*_night("rb", 190, 30), *hill([(-6, 212), (253, 200), (512, 216)], DIM, 0.1, grass=5, seed="rb"), *placed(willow(150, NIGHT, "rb"), (80, 212)), *trail,
                                   *placed(tansy(RUNNING, placed(props.pail(True, 14), (44, 28), 0.9)), (300, 138), 1.05), *fern((500, 262), 90, -0.6, "#173040")])


IDEAS: dict[str, tuple[Callable[[], Scene], ...]] = {
    "cover": cover.IDEAS,
    "4-5": (lambda: openings.leaving_home(1), doorway, great_sky),
    "6-7": (through_reeds, lambda: openings.at_the_tarn(1), paws_and_pail),
    "8-9": (lit_from_below, lambda: openings.moon_in_the_pail(1), from_inside_the_pail),
    "10-11": (lambda: openings.up_the_hill(1), along_the_ridge, path_from_behind),
    "12-13": (between_his_legs, eye_to_eye, lambda: openings.old_heron(1)),
    "20-21": (ring_of_moths, rehearsal, spiral_from_above, under_the_blanket, one_great_moth),
    "22-23": (wide_awake, cut_through_the_stump, blazing_window, night_watch),
    "24-25": (the_empty_sky, the_dark_from_above, carried_home, waiting_on_the_shore, running_back),
}
