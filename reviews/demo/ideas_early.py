"""Idea options for pages 4 to 13: other ways to stage what was drawn, as rough as ideas are."""

from reviews.demo import company, props
from reviews.demo.curves import arc, egg
from reviews.demo.growing import hollow_tree, poplar, reeds
from reviews.demo.marks import Mark, Scene, placed, recoloured, stroke
from reviews.demo.poses import CARRYING, KNEELING, STANDING, TIPTOE
from reviews.demo.roughs import DIM, NIGHT, in_arms, night_sky, rough
from reviews.demo.scenery import hill, water
from reviews.demo.staging import W
from reviews.demo.tansy import from_behind, head, tansy


def doorway() -> Scene:
    """4-5: from inside the stump, looking out past her through the round door."""
    room = [
        Mark(egg(253, 128, 400, 300), "#2a1d1c", 0, detail=0),
        Mark(egg(270, 140, 132, 122, n=50), "#4b6aa8", 1.4, raw=True, detail=0),
    ]
    out = [
        *placed(props.moon(24), (330, 76)),
        Mark(arc(270, 140, 131, 121, 14, 166, 40), "#3c5d7a", 0.7, detail=0, plane=0.6),
        *placed(poplar(50, "#2d4668", 0.6), (210, 168)),
    ]
    return rough(
        "doorway",
        [
            *room,
            *out,
            *placed(tansy(STANDING, placed(props.pail(False), (34, 42), 0.9)), (240, 140), 1.15),
            stroke(arc(270, 140, 140, 130, 160, 380, 40), 2.2),
            *placed(props.stone(120, 50, "dw", "#3a2a26"), (60, 262)),
            *placed(props.stone(90, 40, "dx", "#3a2a26"), (460, 262)),
        ],
    )


def great_sky() -> Scene:
    """4-5: nearly all sky; the moon enormous, the stump and she very small."""
    return rough(
        "great sky",
        [
            *night_sky("gs", 230, 60),
            *placed(props.moon(74), (356, 104)),
            *hill([(-6, 222), (160, 206), (330, 226), (512, 214)], DIM, 0.1, grass=3, seed="gs"),
            *placed(hollow_tree(44, NIGHT), (84, 220)),
            *placed(props.door(16), (84, 220)),
            *placed(tansy(STANDING, placed(props.pail(False), (36, 46), 0.9)), (140, 196), 0.28),
        ],
    )


def through_reeds() -> Scene:
    """6-7: from the far bank through tall reeds; she is a small light on the other side."""
    return rough(
        "through reeds",
        [
            *night_sky("tr", 96),
            *placed(props.moon(20), (253, 44)),
            *hill([(-6, 90), (200, 76), (512, 92)], NIGHT.far, 0.8),
            *water(98, W, NIGHT, "tr", shine=(253, 102)),
            *placed(tansy(KNEELING, placed(props.pail(False, 30), (62, 36), 0.9)), (196, 84), 0.5),
            *placed(props.stone(90, 26, "tr"), (190, 122)),
            *reeds((90, 270), 22, 250, NIGHT, "tr1", -0.1, 170),
            *reeds((430, 270), 22, 240, NIGHT, "tr2", -0.1, 150),
        ],
    )


def paws_and_pail() -> Scene:
    """6-7: very close: paws, the pail's rim, and the moon breaking on the water."""
    return rough(
        "paws and pail",
        [
            *water(-4, W, NIGHT, "pp"),
            *placed(props.ripples(230, 5, "#fff0c0"), (330, 180)),
            *placed([Mark(egg(0, 0, 92, 34), "#fff3c4", 0.9, raw=True, detail=0, tone=0.0)], (330, 180)),
            *placed(tansy(KNEELING, placed(props.pail(False, 40, "left"), (64, 34), 1.0)), (92, 66), 2.3),
        ],
    )


def lit_from_below() -> Scene:
    """8-9: her face very large over the rim, lit from below."""
    return rough(
        "lit from below",
        [
            *night_sky("lb", 250, 20),
            *placed(props.glow_beam(150), (250, 170)),
            *placed(head("wide", "oh"), (200, 112), 3.3, turn=14),
            *placed(company.snail(), (420, 196), 1.6, flip=True),
            *placed(props.pail(True, 0, "down"), (300, 196), 4.4),
        ],
    )


def from_inside_the_pail() -> Scene:
    """8-9: from under the water, looking up: a ring of sky and two faces."""
    ring = [
        Mark(egg(253, 128, 330, 220), "#203848", 0, detail=0),
        Mark(egg(253, 124, 150, 116, n=60), "#10204a", 1.6, raw=True, detail=0),
        *props.stars((170, 50, 340, 150), 22, "ip"),
    ]
    rings = [stroke(arc(253, 124, 160 + 14 * k, 125 + 12 * k, 20 + 40 * k, 160 + 50 * k, 30), 1.0) for k in range(4)]
    return rough(
        "from inside the pail",
        [
            *ring,
            *rings,
            *placed(head("wide", "oh"), (168, 128), 2.0, turn=-8),
            *placed(company.snail(), (356, 92), 1.3, flip=True, turn=-20),
        ],
    )


def along_the_ridge() -> Scene:
    """10-11: a procession in silhouette along the ridge, moths trailing like sparks."""
    walkers = recoloured(
        [
            *placed(tansy(CARRYING, in_arms()), (330, 118), 0.6),
            *placed(company.snail(), (226, 172), 0.6),
            *placed(company.heron(), (130, 128), 0.5),
        ],
        "#141c38",
    )
    return rough(
        "along the ridge",
        [
            *night_sky("ar", 220, 60),
            *hill([(-6, 186), (130, 172), (300, 168), (512, 140)], "#16263c", 0.0, grass=4, seed="ar"),
            *walkers,
            *placed(props.glow_beam(26), (354, 142)),
            *company.chorus([(290, 120), (262, 96), (226, 110), (186, 84), (150, 96), (108, 66)], 0.36),
        ],
        (354, 142),
    )


def path_from_behind() -> Scene:
    """10-11: from behind her; the path winds up towards the wood."""
    bends = [
        Mark(egg(x, y, rx, ry), "#6f7f78", 0.5, detail=0, plane=0.1)
        for x, y, rx, ry in ((300, 138, 14, 3), (262, 158, 26, 6), (300, 186, 46, 10), (250, 232, 110, 26))
    ]
    return rough(
        "path from behind",
        [
            *night_sky("pb", 130),
            *hill([(-6, 130), (140, 100), (320, 120), (512, 92)], NIGHT.far, 0.7),
            *hill([(-6, 150), (253, 132), (512, 150)], DIM, 0.2, grass=4, seed="pb"),
            *bends,
            *[
                m
                for x, s in ((60, 90), (110, 120), (400, 130), (450, 96), (490, 140))
                for m in placed(poplar(s, "#223f55", 0.3), (x, 170))
            ],
            *placed(from_behind(-6), (236, 152), 1.1),
            *placed(props.pail(True), (286, 180), 0.9),
        ],
    )


def between_his_legs() -> Scene:
    """12-13: only Old Heron's legs, like two trees; she stands between them."""
    legs = [Mark(egg(253, -40, 150, 70), "#5b6f8f", 1.2, detail=0), *placed(company.heron(), (236, -140), 3.6)]
    return rough(
        "between his legs",
        [
            *night_sky("bl", 170),
            *water(180, W, NIGHT, "bl"),
            *hill([(-6, 222), (253, 212), (512, 224)], DIM, 0.1, grass=4, seed="bl"),
            *legs,
            *placed(tansy(TIPTOE, in_arms()), (330, 150), 0.9),
        ],
    )


def eye_to_eye() -> Scene:
    """12-13: his head fills the left page; hers is as small as his eye."""
    return rough(
        "eye to eye",
        [
            *night_sky("ee", 250, 30),
            *placed(company.heron_head("open"), (120, 110), 5.4, turn=12),
            *placed(tansy(TIPTOE, in_arms()), (430, 172), 0.8, flip=True),
            *hill([(300, 262), (400, 236), (512, 232)], DIM, 0.1, grass=4, seed="ee"),
        ],
    )
