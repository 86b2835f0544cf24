"""The control strip on the demo's proof: its printer's aims, and what production measured, as CGATS text.

Both are computed here and belong to no press: each ink takes its share of light out of three bands of the spectrum.
"""

from collections.abc import Callable, Iterator

import numpy as np

from reviews.actions.measured_proofs import ProofAsked, SentText, judge_measured
from reviews.demo.teller import Teller
from reviews.press.colour_difference import Lab
from reviews.press.proof_check import GREYS
from reviews.rules.states import Role

Strip = dict[str, tuple[float, float, float, float]]  # name of a patch -> its inks in per cent
_WHITE = np.array([96.422, 100.0, 82.521])  # D50
_PAPER = np.array([0.85, 0.86, 0.86])
# What each full ink lets through of long, middle and short waves: cyan, magenta, yellow, black.
_THROUGH = np.array([(0.18, 0.267, 0.745), (0.403, 0.195, 0.212), (0.843, 0.862, 0.099), (0.024, 0.024, 0.024)])
_GAIN = 0.82  # a tint prints darker than its share of paper
#: The black of the proof came out thin: what it lets through more than aimed for.
_THIN_BLACK = 1.7
_SPREAD = 0.35  # of CIELAB, by which a hand-held instrument strays


def patches() -> Strip:
    """Lay out the strip: paper, full inks and their overprints, tints, and near-neutral greys."""
    named: Strip = {"Paper": (0, 0, 0, 0), "CM": (100, 100, 0, 0), "CY": (100, 0, 100, 0), "MY": (0, 100, 100, 0)}
    for at, ink in enumerate("CMYK"):
        for per_cent in (100, 75, 50, 25):
            inks = [0.0] * 4
            inks[at] = per_cent
            named[f"{ink}{per_cent}"] = (inks[0], inks[1], inks[2], inks[3])
    named |= {f"Grey {c}": (c, m, y, 0) for c, m, y in GREYS}
    return named


def colour_of(inks: tuple[float, float, float, float], through: np.ndarray = _THROUGH) -> Lab:
    """Compute how inks look on the demo's paper, in CIELAB (D50)."""
    shares = (np.array(inks) / 100) ** _GAIN
    light = _PAPER * np.prod(1 - shares[:, None] * (1 - through), axis=0)
    f = np.where(light > 216 / 24389, np.cbrt(light), (24389 / 27 * light + 16) / 116)
    return round(float(116 * f[1] - 16), 2), round(float(500 * (f[0] - f[1])), 2), round(float(200 * (f[1] - f[2])), 2)


def aims() -> str:
    """Write what the printer aims for."""
    return _table("Sedgewater Press: aims of this demo, of no real press", _coloured(_THROUGH, 0.0))


def measured() -> str:
    """Write what was measured on the proof: near its aims, but for the black, which lets through too much light."""
    through = _THROUGH.copy()
    through[3] *= _THIN_BLACK
    return _table("Control strip of the proof", _coloured(through, _SPREAD))


def _coloured(through: np.ndarray, spread: float) -> Iterator[tuple[str, tuple[float, ...], Lab]]:
    stray = np.random.default_rng(67)
    for name, inks in patches().items():
        lightness, a, b = (round(value + float(stray.normal(0, spread)), 2) for value in colour_of(inks, through))
        yield name, inks, (lightness, a, b)


def _table(title: str, rows: Iterator[tuple[str, tuple[float, ...], Lab]]) -> str:
    written = [f'"{name}" ' + " ".join(f"{value:g}" for value in (*inks, *lab)) for name, inks, lab in rows]
    head = ["CGATS.17", f'DESCRIPTOR "{title}"', "BEGIN_DATA_FORMAT"]
    columns = "SAMPLE_NAME CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B"
    body = [columns, "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(written)}", "BEGIN_DATA", *written, "END_DATA"]
    return "\n".join([*head, *body, ""])


def strip_measured(piece: str) -> Callable[[Teller], None]:
    """Let production judge the strip on the proof of a spread against the printer's aims."""

    def deed(tell: Teller) -> None:
        asked = ProofAsked(
            measured=SentText(f"control strip {piece}.txt", measured().encode()),
            reference_id=None,
            reference=SentText("Sedgewater aims, of no real press.txt", aims().encode()),
            limits="contract-proof",
            own_limits={},
            passage_id=tell.passage(piece, "proof").pk,
        )
        with tell.moment():
            judge_measured(tell.book.pk, asked, actor=tell.seats[Role.PRODUCTION])

    return deed
