"""Idea options for pages 20 to 25, which are still open."""

from math import cos, sin

from reviews.demo import company, props
from reviews.demo.curves import arc, egg
from reviews.demo.growing import fern, grass, hollow_tree, willow
from reviews.demo.marks import Drawing, Mark, Scene, mixed, placed, recoloured, stroke
from reviews.demo.poses import ASLEEP, HUGGING, RUNNING, SITTING, TIPTOE
from reviews.demo.roughs import DIM, NIGHT, in_arms, night_sky, rough
from reviews.demo.scenery import hill, water
from reviews.demo.staging import W
from reviews.demo.tansy import from_behind, head, tansy


def ring_of_moths() -> Scene:
    """20-21: moths in a ring round the pail; she sits below and listens."""
    ring = [(253 + x * 2.2, 104 + y * 1.7) for x, y in props.lantern_moth_ring(62)]
    return rough(
        "ring of moths",
        [
            *night_sky("rm", 220, 20),
            *placed(props.glow_beam(110), (253, 110)),
            *company.chorus(ring, 0.8),
            *hill([(-6, 226), (253, 214), (512, 226)], DIM, 0.1, grass=3, seed="rm"),
            *placed(props.pail(True), (253, 150), 1.6),
            *placed(tansy(SITTING), (150, 164), 0.9),
        ],
    )


def rehearsal() -> Scene:
    """20-21: the moths in rows on branches as a choir, Tansy beating time with a straw."""
    rows = [(60 + 50 * k, 60 + 8 * (k % 2) + 56 * r) for r in range(3) for k in range(4)]
    branches = [stroke([(20, 82 + 56 * r), (140, 78 + 56 * r), (256, 88 + 56 * r)], 2.0) for r in range(3)]
    return rough(
        "rehearsal",
        [
            *night_sky("rh", 240, 20),
            *branches,
            *company.chorus(rows, 0.85),
            *placed(tansy(TIPTOE), (390, 140), 1.15, flip=True),
            stroke([(352, 124), (316, 92)], 1.2),
            *placed(props.pail(True), (452, 180), 1.3),
            *grass(226, -6, 512, 8, DIM, "rh", 0.0),
        ],
    )


def spiral_from_above() -> Scene:
    """20-21: from above, moths in a spiral falling into the light."""
    places = [
        (253 + (24 + 11 * k) * cos(k * 0.62) * 1.5, 128 + (24 + 11 * k) * sin(k * 0.62) * 0.86) for k in range(18)
    ]
    return rough(
        "spiral from above",
        [
            *hill([(-6, -4), (512, -4), (520, -4)], DIM, 0.1),
            *placed(props.pail_from_above(44), (253, 128)),
            *placed(props.moon(26), (253, 128)),
            *company.chorus(places[3:], 0.62),
            *placed(head("glad"), (126, 214), 1.0, turn=-30),
        ],
    )


def under_the_blanket() -> Scene:
    """20-21: indoors; she hides the pail under her blanket, light leaks, moths at the window."""
    window = [
        Mark(egg(390, 90, 58, 58, n=40), "#0f1a40", 1.4, raw=True, detail=0),
        stroke([(390, 32), (390, 148)], 1.2),
        stroke([(332, 90), (448, 90)], 1.2),
    ]
    bed = [
        Mark(arc(180, 210, 150, 90, 180, 360, 30), "#8a5a6a", 1.2, detail=0),
        *placed(props.glow_beam(50), (196, 166)),
        *placed(head("wide", "worry"), (120, 128), 1.4, turn=8),
    ]
    return rough(
        "under the blanket",
        [
            Mark(egg(253, 128, 400, 300), "#3a2a2c", 0, detail=0),
            *window,
            *company.chorus([(366, 70), (410, 64), (372, 112), (416, 110), (300, 60)], 0.7),
            *bed,
            *hill([(-6, 216), (253, 212), (512, 216)], "#4a3430", 0.0),
        ],
    )


def one_great_moth() -> Scene:
    """20-21: one moth, close, larger than the page; its eye-spots hold the light."""
    return rough(
        "one great moth",
        [
            *night_sky("om", 260, 40),
            *placed(company.moth(1.0), (300, 130), 7.0, turn=-10),
            *placed(tansy(TIPTOE, in_arms()), (76, 172), 0.8),
        ],
    )


def wide_awake() -> Scene:
    """22-23: in bed beside the shining pail, one eye shut, one open."""
    bed = [
        Mark(arc(200, 214, 176, 70, 180, 360, 30), "#6d5a8a", 1.2, detail=0),
        *placed(tansy(ASLEEP), (150, 130), 1.2),
    ]
    return rough(
        "wide awake",
        [
            Mark(egg(253, 128, 400, 300), "#33262c", 0, detail=0),
            *placed(props.glow_beam(120), (390, 130)),
            *bed,
            *placed(props.pail(True), (392, 132), 1.9),
            *hill([(-6, 214), (253, 212), (512, 214)], "#4a3430", 0.0),
        ],
    )


def cut_through_the_stump() -> Scene:
    """22-23: the stump cut open like a doll's house, somebody awake in each room."""
    rooms = [
        Mark(egg(x, y, 62, 30, n=36), "#d8b878", 1.0, raw=True, detail=0)
        for x, y in ((253, 70), (222, 138), (284, 206))
    ]
    folk = [
        *placed(company.chorus([(-20, 0), (10, -6), (30, 6)], 0.6), (253, 72)),
        *placed(tansy(SITTING), (206, 122), 0.48),
        *placed(props.pail(True), (252, 134), 0.6),
        *placed(company.snail(), (284, 226), 0.7),
    ]
    return rough(
        "cut through the stump",
        [
            *night_sky("ct", 240, 40),
            *hill([(-6, 240), (512, 236), (520, 236)], DIM, 0.1, grass=4, seed="ct"),
            *placed(hollow_tree(250, NIGHT), (253, 250)),
            *rooms,
            *folk,
            *placed(company.heron(), (440, 150), 0.9, flip=True),
        ],
    )


def blazing_window() -> Scene:
    """22-23: outside in the dark; one window blazes and everybody stands looking at it."""
    crowd = recoloured(
        [
            *placed(company.heron(), (410, 140), 0.95, flip=True),
            *placed(company.toad(False), (330, 222), 0.7, flip=True),
            *placed(company.snail(), (260, 226), 0.8, flip=True),
        ],
        "#131a30",
    )
    return rough(
        "blazing window",
        [
            *night_sky("bw", 230, 8),
            *placed(hollow_tree(190, NIGHT), (110, 226)),
            *placed(props.glow_beam(80), (112, 128)),
            Mark(egg(112, 128, 26, 26), "#ffe6a0", 1.0, raw=True, tone=0.0, detail=0),
            stroke([(112, 102), (112, 154)], 1.0),
            stroke([(86, 128), (138, 128)], 1.0),
            *hill([(-6, 228), (253, 222), (512, 230)], "#18283a", 0.0, grass=4, seed="bw"),
            *crowd,
        ],
    )


def night_watch() -> Scene:
    """22-23: a strip of small scenes, each awake in its own place."""
    panels: Drawing = [Mark(egg(253, 128, 400, 300), "#1b2748", 0, raw=True, detail=0)]
    for k, who in enumerate(
        (
            placed(tansy(SITTING), (-6, -14), 0.9),
            placed(company.heron(), (-4, 0), 0.7),
            placed(company.toad(True), (0, 30), 0.8),
            placed(company.snail(), (0, 40), 1.3),
        )
    ):
        panels += [
            Mark(
                egg(70 + 122 * k, 128, 54, 96, n=44),
                ("#d8b878", "#5c6f9c", "#4c7a74", "#7a6a8a")[k],
                1.2,
                raw=True,
                detail=0,
            ),
            *placed(who, (70 + 122 * k, 128)),
        ]
    return rough("night watch", panels)


def the_empty_sky() -> Scene:
    """24-25: from behind; she looks for the moon and there is none."""
    return rough(
        "the empty sky",
        [
            *night_sky("es", 240, 14),
            *hill([(-6, 220), (180, 196), (320, 200), (512, 222)], DIM, 0.1, grass=5, seed="es"),
            *placed(from_behind(8), (236, 148), 1.0),
            *placed(props.pail(True), (298, 176), 0.8),
        ],
    )


def the_dark_from_above() -> Scene:
    """24-25: from a heron's height: the black tarn, dark hills, one spark."""
    shore = [
        Mark(egg(270, 140, 170, 84, -8, n=60), "#0d1730", 1.4, raw=True, detail=0),
        *[
            m
            for x, y in ((70, 60), (110, 210), (440, 70), (460, 200), (250, 24))
            for m in placed(props.stone(60, 44, f"da{x}", "#22384a"), (x, y))
        ],
    ]
    return rough(
        "the dark from above",
        [
            *hill([(-6, -6), (253, -6), (512, -6)], "#2c4250", 0.1),
            *shore,
            *placed(props.glow_beam(20), (122, 150)),
            *placed(company.heron_flying(0.4), (356, 96), 1.2, turn=-10),
        ],
    )


def carried_home() -> Scene:
    """24-25: on Old Heron's back, the pail swinging, the dark country below."""
    rider = placed(tansy(SITTING, in_arms()), (286, 68), 0.66)
    return rough(
        "carried home",
        [
            *night_sky("ch", 240, 40),
            *hill([(-6, 236), (160, 216), (340, 240), (512, 222)], NIGHT.far, 0.5),
            *placed(company.heron_flying(1.0), (250, 116), 1.9, turn=-6),
            *rider,
        ],
    )


def waiting_on_the_shore() -> Scene:
    """24-25: all of them in a row in silhouette, waiting for her to decide."""
    row = recoloured(
        [
            *placed(company.heron(), (90, 130), 0.9),
            *placed(company.toad(False), (220, 214), 0.8),
            *placed(company.snail(), (320, 218), 0.9),
            *placed(tansy(HUGGING, placed(props.pail(True, 0, "down"), (27, 4), 1.0)), (420, 150), 0.95, flip=True),
        ],
        "#12182e",
    )
    return rough(
        "waiting on the shore",
        [
            *night_sky("ws", 200, 20),
            *water(196, W, NIGHT, "ws"),
            *hill([(-6, 220), (253, 216), (512, 222)], "#141f36", 0.0, grass=3, seed="ws"),
            *row,
            *placed(props.glow_beam(30), (394, 152)),
        ],
    )


def running_back() -> Scene:
    """24-25: she runs, the light streaming out behind her."""
    trail = [
        Mark(
            egg(300 - 34 * k, 150 - 5 * k, 26 - 2 * k, 9), mixed("#ffe6a0", NIGHT.sky[1], k / 9), 0, raw=True, detail=0
        )
        for k in range(8)
    ]
    return rough(
        "running back",
        [
            *night_sky("rb", 190, 30),
            *placed(willow(150, NIGHT, "rb"), (80, 212)),
            *hill([(-6, 212), (253, 200), (512, 216)], DIM, 0.1, grass=5, seed="rb"),
            *trail,
            *placed(tansy(RUNNING, placed(props.pail(True, 14), (44, 28), 0.9)), (300, 138), 1.05),
            *fern((500, 262), 90, -0.6, "#173040"),
        ],
    )
