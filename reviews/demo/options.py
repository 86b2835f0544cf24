"""Idea options: for each piece several really different ways to stage it, in the order they were handed in."""

from collections.abc import Callable

from reviews.demo import cover, ideas_early, ideas_late, journey, openings
from reviews.demo.marks import Scene

IDEAS: dict[str, tuple[Callable[[], Scene], ...]] = {
    "cover": (
        cover.against_the_moon,
        cover.big_pail,
        lambda: cover.front(1),
        cover.from_above,
        cover.tiny_on_the_hill,
        cover.heron_tall,
    ),
    "4-5": (lambda: openings.leaving_home(1), ideas_early.doorway, ideas_early.great_sky),
    "6-7": (ideas_early.through_reeds, lambda: openings.at_the_tarn(1), ideas_early.paws_and_pail),
    "8-9": (lambda: openings.moon_in_the_pail(1), ideas_early.lit_from_below, ideas_early.from_inside_the_pail),
    "10-11": (lambda: journey.up_the_hill(1), ideas_early.along_the_ridge, ideas_early.path_from_behind),
    "12-13": (ideas_early.between_his_legs, lambda: journey.old_heron(1), ideas_early.eye_to_eye),
    "20-21": (
        ideas_late.ring_of_moths,
        ideas_late.rehearsal,
        ideas_late.spiral_from_above,
        ideas_late.under_the_blanket,
        ideas_late.one_great_moth,
    ),
    "22-23": (
        ideas_late.wide_awake,
        ideas_late.cut_through_the_stump,
        ideas_late.blazing_window,
        ideas_late.night_watch,
    ),
    "24-25": (
        ideas_late.the_empty_sky,
        ideas_late.the_dark_from_above,
        ideas_late.carried_home,
        ideas_late.waiting_on_the_shore,
        ideas_late.running_back,
    ),
}
