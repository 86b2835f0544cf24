"""How Tansy can stand, sit, kneel, run and sleep."""

from dataclasses import dataclass

from reviews.demo.curves import Pair


@dataclass(frozen=True, slots=True)
class Pose:
    """Where her parts are, in her own units: x ahead of her, y down, the neck at (0, 0)."""

    head: Pair = (4, -20)
    tilt: float = 0.0
    eyes: str = "open"  # open, wide, shut, glad, down
    mouth: str = "smile"  # smile, oh, worry, firm, laugh
    hand: Pair = (24, 22)  # the near paw
    other: Pair = (22, 18)  # the far paw
    hips: Pair = (-3, 38)
    foot: Pair = (8, 62)
    foot_behind: Pair = (-8, 62)
    tail: tuple[Pair, ...] = ((-14, 44), (-34, 52), (-50, 38), (-48, 14), (-36, 6))
    scarf: tuple[Pair, ...] = ((-10, 2), (-24, 6), (-34, 18), (-46, 16))


STANDING = Pose()
CARRYING = Pose(hand=(25, 30), other=(30, 26), hips=(-5, 38), foot=(14, 62), foot_behind=(-16, 60), tilt=-4)
TIPTOE = Pose(
    head=(7, -21), tilt=-16, hand=(28, -6), other=(26, -14), eyes="wide", mouth="oh", foot=(4, 62), foot_behind=(-6, 62)
)
KNEELING = Pose(
    head=(20, -10),
    tilt=20,
    hand=(44, 26),
    other=(48, 20),
    hips=(-12, 32),
    foot=(6, 50),
    foot_behind=(-6, 50),
    tail=((-22, 38), (-42, 44), (-60, 32), (-62, 8), (-50, -4)),
    eyes="down",
    mouth="oh",
    scarf=((-4, 4), (-8, 14), (-4, 26), (-10, 36)),
)
HUGGING = Pose(
    head=(5, -19),
    tilt=8,
    hand=(24, 30),
    other=(30, 20),
    hips=(-4, 36),
    foot=(16, 54),
    foot_behind=(-2, 56),
    eyes="glad",
)
SITTING = Pose(
    hips=(-2, 30),
    foot=(26, 42),
    foot_behind=(20, 44),
    hand=(22, 20),
    other=(26, 16),
    tail=((-16, 38), (-36, 42), (-50, 28), (-44, 8), (-34, 4)),
)
RUNNING = Pose(
    head=(14, -16),
    tilt=6,
    hips=(-16, 26),
    foot=(20, 50),
    foot_behind=(-40, 40),
    hand=(32, 20),
    other=(30, 8),
    tail=((-30, 30), (-50, 22), (-68, 22), (-86, 12), (-98, 16)),
    scarf=((-8, 0), (-24, -6), (-38, -2), (-52, -10)),
    mouth="laugh",
)
ASLEEP = Pose(
    head=(14, 14),
    tilt=26,
    hips=(-14, 30),
    foot=(12, 42),
    foot_behind=(4, 43),
    hand=(26, 34),
    other=(28, 32),
    eyes="shut",
    tail=((-28, 38), (-20, 50), (6, 52), (30, 46), (38, 34)),
    scarf=((-10, 4), (-20, 10), (-24, 22), (-30, 34)),
)
