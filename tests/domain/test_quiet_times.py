"""Which reminders are muted, and when one makes no sound."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import pytest

from homeprog.domain.timetable import DEFAULT_WEEK, Waking, spread
from homeprog.domain.timetable.quiet import Wish, mutes, rings, soundless
from tests.domain.timetable_cases import LONDON, every_day, setting, utc

DAY = [utc(14, hour) for hour in range(7, 22)]  # 15 reminders, Wednesday
EDGE = timedelta(minutes=30)


def wish(kind: str, **more: object) -> Wish:
    return Wish(kind, utc(1), None, **more)


def test_every_second_leaves_the_first_and_each_second_after_it():
    kept = rings(DAY, "every_second")
    assert [at.hour for at in kept] == [7, 9, 11, 13, 15, 17, 19, 21]


def test_four_a_day_are_spread_over_the_day_with_the_first_and_the_last():
    assert [at.hour for at in rings(DAY, "four_a_day")] == [7, 12, 16, 21]


@pytest.mark.parametrize("count", range(9))
def test_of_few_none_is_left_out_and_never_are_there_more_than_asked(count):
    kept = spread(DAY[:count], 4)
    assert len(kept) == min(count, 4)
    assert len(set(kept)) == len(kept)


def test_fewer_mutes_what_does_not_ring_and_no_other_day():
    fewer = wish("fewer", fewer="four_a_day")
    assert not mutes([fewer], utc(14, 12), DAY, LONDON)
    assert mutes([fewer], utc(14, 13), DAY, LONDON)
    assert not mutes([], utc(14, 13), DAY, LONDON)


def test_a_weekly_time_is_wall_clock_in_the_patients_zone_and_may_pass_midnight():
    noon = wish("weekly", weekday=2, opens=time(13), closes=time(15))
    assert mutes([noon], utc(14, 13), DAY, LONDON)
    assert not mutes([noon], utc(14, 15), DAY, LONDON)
    assert not mutes([noon], utc(15, 13), DAY, LONDON)
    assert mutes([noon], utc(14, 18), DAY, "America/New_York")
    late = wish("weekly", weekday=2, opens=time(21), closes=time(8))
    assert mutes([late], utc(14, 21), DAY, LONDON)
    assert mutes([late], utc(15, 7), DAY, LONDON)
    assert not mutes([late], utc(14, 7), DAY, LONDON)


def test_a_wish_counts_from_when_it_was_made_until_it_was_ended():
    ended = Wish("weekly", utc(14, 13, 30), utc(14, 14), 2, time(13), time(15))
    assert not mutes([ended], utc(14, 13), DAY, LONDON)
    assert mutes([ended], utc(14, 13, 30), DAY, LONDON)
    assert not mutes([ended], utc(14, 14), DAY, LONDON)


@pytest.mark.parametrize(
    ("at", "still"),
    [
        (utc(14, 7), True),  # waking
        (utc(14, 7, 29), True),
        (utc(14, 7, 30), False),
        (utc(14, 21, 29), False),
        (utc(14, 21, 30), True),  # half an hour before sleep
        (utc(14, 22), True),
        (utc(15, 6, 59), True),  # asleep
    ],
)
def test_no_sound_in_the_half_hour_after_waking_and_before_sleep(at, still):
    assert soundless([setting(utc(1))], at, EDGE) is still


def test_with_sleep_after_midnight_the_last_half_hour_is_the_next_dates():
    late = setting(utc(1), week=every_day(time(9), time(1)))
    assert not soundless([late], utc(15, 0, 29), EDGE)
    assert soundless([late], utc(15, 0, 30), EDGE)
    assert soundless([late], utc(14, 9, 10), EDGE)


def test_the_hours_of_that_weekday_count():
    shift = (*DEFAULT_WEEK[:2], Waking(time(5), time(20)), *DEFAULT_WEEK[3:])
    assert soundless([setting(utc(1), week=shift)], utc(14, 19, 30), EDGE)
    assert not soundless([setting(utc(1), week=shift)], utc(13, 19, 30), EDGE)


def test_on_the_day_clocks_go_back_sleep_is_where_the_wall_clock_has_it():
    on_the_day = datetime(2026, 10, 25, 21, 45, tzinfo=UTC)  # 21:45 in London, no longer BST
    assert soundless([setting(utc(1))], on_the_day, EDGE)
    assert not soundless([setting(utc(1))], on_the_day - timedelta(minutes=20), EDGE)
