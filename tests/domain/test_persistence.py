"""Starting and going on: a stop is said only of days that are known."""

from datetime import UTC, datetime, timedelta

import pytest

from homeprog.domain.adherence.gaps import Go, Window
from homeprog.domain.adherence.persistence import initiation, persistence

HOUR = timedelta(hours=1)
RELEASED = datetime(2026, 6, 1, 10, tzinfo=UTC)


def at(day, hour=12):
    return datetime(2026, 6, day, hour, tzinfo=UTC)


def go(day, hour=12, timely=True):
    return Go(at(day, hour), at(day, hour), timely)


def slots(day, *standings, first=8):
    return [
        Window(at(day, first + n), at(day, first + n + 1), standing)
        for n, standing in enumerate(standings)
    ]


def test_initiation_runs_from_the_release_to_the_first_go():
    found = initiation(RELEASED, slots(1, "not_logged", "not_logged", first=10), [go(1, 12), go(2)])
    assert found.started
    assert found.lowest == found.shown == found.highest == 2 * HOUR
    assert found.slots == 2


def test_a_first_go_entered_later_is_told_and_the_first_timely_one_bounds_it():
    found = initiation(RELEASED, [], [go(1, 12, timely=False), go(2, 12)])
    assert (found.lowest, found.shown, found.highest) == (2 * HOUR, 2 * HOUR, 26 * HOUR)


def test_a_slot_not_known_before_the_first_go_may_hold_an_earlier_one():
    found = initiation(RELEASED, slots(1, "unknown", first=11), [go(2)])
    assert (found.lowest, found.shown) == (1 * HOUR, 26 * HOUR)


def test_not_started_is_not_the_same_as_not_known():
    known = initiation(RELEASED, slots(1, "not_logged", "not_logged", first=10), [])
    assert (known.started, known.lowest, known.slots) == (False, None, 2)
    silent = initiation(RELEASED, slots(1, "not_logged", "unknown", first=10), [])
    assert (silent.started, silent.lowest, silent.shown) == (False, 1 * HOUR, None)


def test_a_go_before_the_release_does_not_start_it():
    found = initiation(RELEASED, [], [go(1, 9), go(1, 13)])
    assert found.shown == 3 * HOUR


def quiet(*days, standing="not_logged"):
    return [slots(day, standing, standing) for day in days]


def test_three_known_days_without_a_go_up_to_now_end_it():
    days = [slots(1, "logged"), *quiet(2, 3, 4)]
    found = persistence(days, [go(1), go(1, 18)], now=at(5))
    assert (found.ending, found.quiet_known, found.quiet_unknown) == ("ended", 3, 0)
    assert found.lowest == found.shown == found.highest == 6 * HOUR
    assert (found.first, found.last) == (at(1), at(1, 18))


def test_two_days_do_not_end_it():
    found = persistence([slots(1, "logged"), *quiet(2, 3)], [go(1)], now=at(4))
    assert found.ending == "going_on"
    assert found.highest == 72 * HOUR


def test_a_day_not_known_leaves_it_not_known():
    days = [slots(1, "logged"), *quiet(2, 3, 4), slots(5, "not_logged", "unknown")]
    found = persistence(days, [go(1)], now=at(6))
    assert found.ending == "not_known"
    assert (found.shown, found.highest) == (0 * HOUR, 120 * HOUR)


def test_days_not_asked_for_neither_end_it_nor_leave_it_unknown():
    days = [slots(1, "logged"), *quiet(2, 3, 4, standing="excused"), *quiet(5, 6)]
    assert persistence(days, [go(1)], now=at(7)).ending == "going_on"


def test_the_rest_of_the_day_of_the_last_go_is_no_day_without_one():
    days = [slots(1, "logged", "not_logged"), *quiet(2, 3)]
    assert persistence(days, [go(1, 8)], now=at(4)).quiet_known == 2


def test_a_day_whose_slot_was_logged_just_before_its_waking_is_no_day_without_one():
    days = [slots(1, "logged"), slots(2, "logged", "not_logged"), *quiet(3, 4)]
    assert persistence(days, [go(1), go(2, 7)], now=at(5)).quiet_known == 2


def test_a_stretch_that_came_to_an_end_is_no_stop():
    days = [slots(1, "logged"), *quiet(2, 3, 4, 5), slots(6, "logged")]
    assert persistence(days, [go(1), go(6)], now=at(7)).ending == "going_on"


def test_the_lowest_ends_with_the_last_timely_go():
    found = persistence([], [go(1), go(3), go(4, timely=False)], now=at(5))
    assert (found.lowest, found.shown, found.highest) == (48 * HOUR, 72 * HOUR, 96 * HOUR)


def test_without_a_go_there_is_nothing_to_persist():
    assert persistence([slots(1, "not_logged")], [], now=at(9)) is None


@pytest.mark.parametrize("timely", [True, False])
def test_a_go_filled_in_reaches_to_the_end_of_its_slot(timely):
    filled = Go(at(2, 8), at(2, 9), timely)
    found = persistence([], [go(1, 8), filled], now=at(3))
    assert found.shown == 25 * HOUR
    assert found.lowest <= found.shown <= found.highest
