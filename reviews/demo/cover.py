"""The cover: the front as it was finally drawn, and the six ideas it was chosen from."""

from reviews.demo import company, props
from reviews.demo.lettering import flat_title, title
from reviews.demo.marks import HOURS, Drawing, Light, Scene, mixed, placed, recoloured
from reviews.demo.scenery import bush, cloud, fern, grass, hill, lily, mist, poplar, reeds, sky, water, willow
from reviews.demo.tansy import CARRYING, HUGGING, RUNNING, TIPTOE, from_behind, head, tansy

S = 256.0


def front(v: int = 2) -> Scene:
    """Tansy sits hugging the shining pail on a stone in the tarn, the title in the sky above her."""
    hour = HOURS["night"]
    her, size = ((112, 158), 0.92) if v >= 2 else ((96, 164), 0.8)
    pail_at = (her[0] + 27 * size, her[1] + 2 * size)
    glow = (pail_at[0], pail_at[1] - 4)
    marks = [*sky(S, S, hour, 160, seed="cover"), *props.stars((6, 6, 250, 128), 70, "cover"),
             *hill([(-6, 150), (60, 132), (130, 146), (200, 126), (262, 140)], hour.far, 0.85),
             *[m for x, s in ((22, 40), (34, 52), (226, 44), (238, 34)) for m in placed(poplar(s, "#2b4f80", 0.7), (x, 152))],
             *hill([(-6, 164), (90, 158), (262, 164)], hour.middle, 0.6), *water(168, S, hour, "cover", shine=(pail_at[0], 226)), *mist(166, S, "#547aa6", "cover", 5),
             *reeds((26, 206), 12, 84, hour, "ca", 0.3, 50), *reeds((232, 210), 12, 92, hour, "cb", 0.3, 44),
             *placed(title(1.12 if v >= 2 else 0.95), (128, 74) if v >= 2 else (128, 70)),
             *placed(props.stone(170, 40, "cc", "#5f7593"), (130, 246)), *placed(props.ripples(104, 3), (130, 240)),
             *placed(tansy(HUGGING, placed(props.pail(True, 0, "down"), (27, 4), 1.0)), her, size)]
    if v >= 2:
        marks += placed(company.snail(), (186, 218), 0.62, flip=True)
    else:
        marks += placed(company.heron(), (206, 150), 0.6, flip=True, plane=0.2)
    marks += company.chorus([(70, 146), (206, 150), (186, 172), (54, 182)] if v >= 2 else [(70, 146), (176, 150)], 0.46)
    marks += [*[m for x, y, w in ((44, 244, 40), (216, 246, 46)) for m in placed(lily(w), (x, y))], *reeds((-2, 264), 8, 92, hour, "cd", -0.1, 26), *reeds((260, 264), 8, 80, hour, "ce", -0.1, 24)]
    return Scene("cover", S, S, hour, marks, Light(glow, 118, "#ffcf70", 1.15))


def _night(seed: str, horizon: float = 170, hour: str = "night") -> Drawing:
    return [*sky(S, S, HOURS[hour], horizon, 6, seed), *props.stars((6, 6, 250, horizon - 30), 26, seed)]


def big_pail() -> Scene:
    """The pail fills the cover; the title rises in its light; Tansy's eyes look over the rim."""
    hour = HOURS["night"]
    marks = [*_night("i2", 250), *placed(props.glow_beam(110), (128, 150)), *placed(head("wide", "oh"), (132, 128), 2.3), *placed(props.pail(True, 0, "down"), (128, 168), 4.2),
             *placed(title(0.9), (128, 58))]
    return Scene("cover: big pail", S, S, hour, marks, Light((128, 160), 120))


def tiny_on_the_hill() -> Scene:
    """A great sky with the title in it, and a very small dormouse on a long hill."""
    hour = HOURS["night"]
    marks = [*_night("i3", 230), *placed(title(1.3), (128, 92)), *hill([(-6, 236), (80, 214), (170, 196), (262, 206)], "#29544e", 0.1, grass=3, seed="i3"), *placed(poplar(50, "#223f55", 0.2), (228, 206)),
             *placed(tansy(CARRYING, placed(props.pail(True), (40, 42), 1.0)), (150, 170), 0.4)]
    return Scene("cover: tiny on the hill", S, S, hour, marks, Light((166, 186), 70))


def from_above() -> Scene:
    """Looking straight down: the round pail is the picture, the title runs above it."""
    hour = HOURS["night"]
    marks: Drawing = [*_night("i4", 600), *placed(props.pail_from_above(78), (128, 164)), *placed(props.moon(40), (132, 158)), *placed(flat_title(0.98), (128, 44)),
                      *placed(head("wide", "oh"), (58, 196), 1.2, turn=-24), *placed(company.snail(), (206, 130), 0.8, turn=120)]
    return Scene("cover: from above", S, S, hour, marks, Light((132, 158), 120))


def heron_tall() -> Scene:
    """Old Heron stands the whole height of the cover and looks down at the small light."""
    hour = HOURS["night"]
    marks = [*_night("i5", 200), *placed(props.moon(22, full=False), (214, 34)), *water(206, S, hour, "i5"), *placed(company.heron(((14, -50), (34, -80), (22, -104), (44, -108)), 40), (66, 138), 1.1),
             *placed(title(0.72), (176, 92)), *hill([(-6, 240), (120, 232), (262, 226)], "#29544e", 0.1, grass=4, seed="i5"), *placed(tansy(TIPTOE, placed(props.pail(True), (20, 34), 0.9)), (186, 186), 0.62, flip=True)]
    return Scene("cover: heron tall", S, S, hour, marks, Light((176, 206), 90))


def against_the_moon() -> Scene:
    """A running silhouette against an enormous moon; the title along the bottom."""
    hour = HOURS["night"]
    runner = recoloured(placed(tansy(RUNNING, placed(props.pail(True, 12), (40, 30), 0.9)), (128, 118), 1.0), "#1a2142")
    marks = [*_night("i6", 240), *placed(props.halo(80, "#35507e", 2), (128, 108)), *placed(props.moon(84), (128, 108)), *hill([(-6, 186), (90, 176), (180, 174), (262, 190)], "#14243a", 0.0, grass=5, seed="i6"),
             *runner, *placed(flat_title(1.02), (128, 222))]
    return Scene("cover: against the moon", S, S, hour, marks, Light((128, 108), 120))


def seen_from_behind() -> Scene:
    """We sit behind her and look out over the tarn with her."""
    hour = HOURS["evening"]
    marks = [*_night("i7", 150, "evening"), *placed(props.moon(26), (196, 44)), *hill([(-6, 140), (100, 126), (262, 138)], mixed(hour.far, "#000000", 0.1), 0.8), *water(150, S, hour, "i7", shine=(196, 152)),
             *placed(title(0.78), (92, 66)), *hill([(-6, 226), (120, 214), (262, 230)], "#29544e", 0.1, grass=5, seed="i7"), *placed(from_behind(4), (120, 164), 1.0), *placed(props.pail(False), (186, 190), 0.9),
             *placed(willow(160, hour, "i7", 0.1), (254, 230)), *placed(cloud(70, "#4f6fa8"), (60, 112)), *grass(248, -6, 262, 10, "#152b3c", "i7b"), *fern((6, 262), 60, 0.5, "#173040"), *placed(bush(50, 26, "#1b3a44", -0.1, "i7"), (236, 262))]
    return Scene("cover: from behind", S, S, hour, marks, Light((196, 44), 160))


IDEAS = (lambda: front(1), big_pail, tiny_on_the_hill, from_above, heron_tall, against_the_moon)
