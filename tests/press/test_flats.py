"""Flats and their guides: panels add up, guides lie where they should, and senseless measures are refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.press import covers, paper
from reviews.press.covers import CASE_RULES, JACKET_RULES, Trim
from reviews.press.flats import GuideKind, PanelKind, guides
from reviews.press.refused import CannotPrint

SIZES = st.floats(120, 400)


@given(SIZES, SIZES, st.floats(0.5, 40), st.sampled_from(sorted(CASE_RULES)))
def test_the_panels_of_a_case_are_its_width_without_gap(width, height, block, rules):
    wrap = covers.case_wrap(Trim(width, height), block, CASE_RULES[rules])
    at = 0.0
    for panel in wrap.panels:
        assert panel.left_mm == pytest.approx(at, abs=0.02)
        at += panel.width_mm
    assert wrap.width_mm == pytest.approx(at, abs=0.05)
    assert [panel.kind for panel in wrap.panels] == [panel.kind for panel in reversed(wrap.panels)] or (
        wrap.panel(PanelKind.BACK).left_mm < wrap.panel(PanelKind.FRONT).left_mm
    )


def kinds(flat) -> list[GuideKind]:
    return [guide.kind for guide in guides(flat)]


def test_a_spread_has_a_gutter_band_round_its_fold():
    flat = covers.spread(Trim(250, 250), gutter_mm=13)
    (band,) = [guide for guide in guides(flat) if guide.kind == GuideKind.GUTTER]
    assert (band.left_mm, band.right_mm) == (237, 263)
    assert flat.folds_mm == (250,)


def test_bleed_lies_outside_and_safety_inside():
    flat = covers.single_page(Trim(200, 300), bleed_mm=3, safety_mm=5)
    boxes = {guide.kind: guide for guide in guides(flat)}
    assert (boxes[GuideKind.BLEED].left_mm, boxes[GuideKind.BLEED].right_mm) == (-3, 203)
    assert (boxes[GuideKind.SAFETY].left_mm, boxes[GuideKind.SAFETY].bottom_mm) == (5, 295)
    assert GuideKind.GUTTER not in boxes and GuideKind.FOLD not in boxes


def test_a_spine_thinner_than_its_safety_has_no_place_for_type():
    thin = covers.paperback_cover(Trim(200, 200), 4.0, safety_mm=5)
    thick = covers.paperback_cover(Trim(200, 200), 14.0, safety_mm=5)
    assert PanelKind.SPINE not in [guide.panel for guide in guides(thin)]
    assert PanelKind.SPINE in [guide.panel for guide in guides(thick)]


def test_a_stitched_cover_has_no_spine():
    flat = covers.paperback_cover(Trim(200, 200), 0.0)
    assert [panel.kind for panel in flat.panels] == [PanelKind.BACK, PanelKind.FRONT]
    assert flat.width_mm == 400


def test_a_hinge_and_a_turn_in_are_no_place_for_type():
    wrap = covers.case_wrap(Trim(250, 250), 4.0, CASE_RULES["dingword"])
    assert {guide.panel for guide in guides(wrap) if guide.panel} == {PanelKind.BACK, PanelKind.FRONT}
    assert GuideKind.TURN_IN in kinds(wrap)


@pytest.mark.parametrize(
    ("made", "code"),
    [
        (lambda: Trim(0, 250), "not-above-nought"),
        (lambda: Trim(250, float("nan")), "not-above-nought"),
        (lambda: covers.spread(Trim(250, 250), bleed_mm=-3), "below-nought"),
        (lambda: covers.jacket(Trim(250, 250), 8, JACKET_RULES["wakefields"], flap_mm=-10), "flap-too-narrow"),
        (lambda: covers.jacket(Trim(250, 250), 8, JACKET_RULES["wakefields"], flap_mm=400), "flap-too-wide"),
        (lambda: covers.case_wrap(Trim(250, 250), 0, CASE_RULES["dingword"]), "not-above-nought"),
        (lambda: covers.case_wrap(Trim(3, 250), 4, CASE_RULES["dingword"]), "not-above-nought"),
        (lambda: paper.by_caliper(0), "not-above-nought"),
        (lambda: paper.by_weight(150, float("inf")), "not-above-nought"),
        (lambda: paper.block_mm(0, paper.Paper(0.06)), "no-pages"),
    ],
)
def test_senseless_measures_are_refused_by_name(made, code):
    with pytest.raises(CannotPrint) as refused:
        made()
    assert refused.value.code == code
