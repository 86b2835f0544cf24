from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.calendars import known_places, place_name, place_named, working_calendar
from reviews.rules.states import Refused

dates = st.dates(date(2015, 1, 1), date(2040, 12, 31))
places = st.lists(st.sampled_from(["GB-ENG", "US", "US-NY", "CN", "IL", "DE-BY"]), max_size=2, unique=True)


def test_no_place_means_monday_to_friday():
    plain = working_calendar()
    week = [date(2026, 12, 21) + timedelta(n) for n in range(7)]
    assert [plain.is_working(day) for day in week] == [True] * 5 + [False] * 2
    assert plain.is_working(date(2026, 12, 25))


def test_joint_calendar_counts_only_days_worked_in_both_places():
    joint = working_calendar(["GB-ENG", "US"])
    good_friday, thanksgiving, saturday, wednesday = (
        joint.kind(date(2026, month, day)) for month, day in ((4, 3), (11, 26), (12, 26), (11, 25))
    )
    assert (good_friday, thanksgiving, saturday, wednesday) == ("holiday", "holiday", "weekend", "working")


def test_house_closure_is_a_holiday():
    shut = working_calendar(["GB-ENG"], shut=[date(2026, 12, 29)])
    assert shut.kind(date(2026, 12, 29)) == "holiday"
    assert working_calendar(["GB-ENG"]).is_working(date(2026, 12, 29))


def test_one_day_holidays_are_known():
    assert not working_calendar(["GB"]).is_working(date(2022, 9, 19))


def test_a_place_keeps_its_own_week():
    israel = working_calendar(["IL"])
    assert israel.kind(date(2026, 6, 5)) == "weekend"  # a Friday
    assert israel.kind(date(2026, 6, 7)) == "working"  # a Sunday


def test_a_saturday_worked_for_a_bridge_day_counts():
    assert working_calendar(["CN"]).is_working(date(2026, 2, 14))
    assert not working_calendar(["CN"]).is_working(date(2026, 2, 7))


@pytest.mark.parametrize("code", ["Atlantis", "GB-XYZ", "", "US-"])
def test_unknown_place_is_refused_with_a_sentence(code):
    if code == "US-":  # a country with an empty part is that country
        assert working_calendar([code]).is_working(date(2026, 7, 1))
        return
    with pytest.raises(Refused) as refused:
        working_calendar([code])
    assert code.upper() in sentence_for(refused.value)


def test_every_place_offered_can_be_used():
    offered = known_places()
    assert len({place.code for place in offered}) == len(offered) > 200
    for place in offered[::60]:
        assert working_calendar([place.code]).name.startswith(place.code)


def test_places_are_found_by_the_names_people_use():
    named = {place.name: place.code for place in known_places()}
    assert len(named) == len(known_places())
    assert named["England, United Kingdom"] == "GB-ENG"
    assert named["New York, United States"] == "US-NY"
    for typed in ("england, united kingdom", "GB-ENG", " gb-eng "):
        assert place_named(typed).code == "GB-ENG"
    assert place_named("England").code == "GB-ENG", "its own name is enough where no other place has it"
    assert place_named("Atlantis") is None
    assert (place_name("DE-BY"), place_name("XX")) == ("Bayern, Germany", "XX")


def test_a_part_of_a_country_without_a_code_can_be_kept():
    assert working_calendar(["DE-Augsburg"]) == working_calendar(["de-augsburg"])
    # The peace festival of 8 August is kept in Augsburg alone; in 2025 it is a Friday.
    assert not working_calendar(["DE-Augsburg"]).is_working(date(2025, 8, 8))
    assert working_calendar(["DE-BY"]).is_working(date(2025, 8, 8))


@given(dates, dates, places)
def test_count_agrees_with_walking_the_days(a, b, codes):
    calendar = working_calendar(codes)
    a, b = min(a, b), max(a, b)
    b = min(b, a + timedelta(900))
    walked = sum(calendar.is_working(a + timedelta(n)) for n in range(1, (b - a).days + 1))
    assert calendar.count(a, b) == walked


@given(dates, places)
def test_joint_calendar_is_the_intersection(day, codes):
    alone = [working_calendar([code]).is_working(day) for code in codes]
    expected = all(alone) if codes else day.weekday() < 5
    assert working_calendar(codes).is_working(day) == expected


def test_the_years_of_a_calendar_are_those_of_its_least_known_place():
    first, last = working_calendar(["GB-ENG"]).years_known
    assert first < 2000 and last > 2050
    joint = working_calendar(["GB-ENG", "AZ"]).years_known
    assert joint == working_calendar(["AZ"]).years_known != (first, last)
