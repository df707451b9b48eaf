"""The timetable: the grid of a course day, clock changes, prompts, refusals."""

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from homeprog.domain.regime.dose import Dose, Schedule
from homeprog.domain.timetable import (
    DEFAULT_WEEK,
    Slot,
    Waking,
    course_day,
    lay_out,
    prompt_groups,
    refuse_times_outside_waking,
    slots_a_day,
    waking,
)
from tests.domain.timetable_cases import (
    HOURLY,
    LONDON,
    NEW_YORK,
    asks,
    every_day,
    one_day,
    setting,
    starts,
    utc,
    windows,
)

# The grid of an ordinary day


def test_windows_of_n_minutes_tile_the_waking_hours():
    laid = windows(one_day(HOURLY))
    assert len(laid) == 15
    assert laid[0] == "07:00-08:00"
    assert laid[-1] == "21:00-22:00"


def test_a_rest_shorter_than_half_a_window_makes_no_slot():
    assert windows(one_day(HOURLY, every_day(time(7), time(9, 29)))) == [
        "07:00-08:00",
        "08:00-09:00",
    ]


def test_a_rest_of_half_a_window_makes_a_slot_of_its_own():
    assert windows(one_day(HOURLY, every_day(time(7), time(9, 30))))[-1] == "09:00-09:30"


def test_k_times_a_day_is_k_equal_windows_with_edges_floored_to_whole_minutes():
    assert windows(one_day(Schedule("times_a_day", times=4))) == [
        "07:00-10:45",
        "10:45-14:30",
        "14:30-18:15",
        "18:15-22:00",
    ]
    # 15 h in 7 parts of 128 min 34 s
    assert starts(one_day(Schedule("times_a_day", times=7)))[:4] == [
        "07:00",
        "09:08",
        "11:17",
        "13:25",
    ]


def test_at_times_of_day_windows_run_from_midpoint_to_midpoint_cut_by_the_waking_hours():
    at = Schedule("at", at=(time(8), time(12, 1), time(20)))
    assert windows(one_day(at)) == ["07:00-10:00", "10:00-16:00", "16:00-22:00"]


def test_one_time_of_day_has_the_whole_waking_day():
    assert windows(one_day(Schedule("at", at=(time(12),)))) == ["07:00-22:00"]


def test_a_slot_carries_phase_revision_and_dose_of_its_setting():
    (slot,) = lay_out([setting(utc(5, 7), asks(amount=4), revision=3)], utc(5, 7, 1))
    assert slot == Slot("bend", "motion", 3, utc(5, 7), utc(5, 8), date(2026, 1, 5), Dose(4))
    assert slot.key == ("bend", utc(5, 7))


def test_slots_are_sorted_by_start_and_exercise_and_cut_by_until_and_since():
    two = setting(utc(5, 7), asks(exercise="scar"), asks(exercise="bend"))
    laid = lay_out([two], utc(5, 10), since=utc(5, 8))
    assert [(s.exercise, s.start.hour) for s in laid] == [
        ("bend", 8),
        ("scar", 8),
        ("bend", 9),
        ("scar", 9),
    ]


def test_before_confirmation_nothing_is_asked():
    assert lay_out([replace(setting(utc(5, 7)), phase=None)], utc(9)) == ()
    assert lay_out([], utc(9)) == ()


# Course days and sleep after midnight


def test_sleep_after_midnight_belongs_to_the_day_of_its_waking():
    laid = one_day(HOURLY, every_day(time(9), time(1)))
    assert len(laid) == 16
    assert (laid[-1].start, laid[-1].end) == (utc(15, 0), utc(15, 1))
    assert {s.date for s in laid} == {date(2026, 1, 14)}


def test_a_time_of_day_after_midnight_is_the_last_of_its_course_day():
    laid = one_day(Schedule("at", at=(time(0, 30), time(10, 30))), every_day(time(9), time(2)))
    assert [(s.start, s.end) for s in laid] == [
        (utc(14, 9), utc(14, 17, 30)),
        (utc(14, 17, 30), utc(15, 2)),
    ]


def test_before_the_first_waking_of_the_day_it_is_the_day_before():
    laid = [setting(utc(1, 12))]
    assert course_day(laid, utc(14, 6, 59)) == date(2026, 1, 13)
    assert course_day(laid, utc(14, 7)) == date(2026, 1, 14)
    assert course_day(laid, utc(15, 1)) == date(2026, 1, 14)


def test_waking_is_that_of_the_weekday_on_which_the_day_begins():
    week = (Waking(time(6), time(22)), *DEFAULT_WEEK[1:])  # Monday at six
    laid = [setting(utc(1, 12), week=week)]
    assert course_day(laid, utc(12, 6)) == date(2026, 1, 12)  # a Monday
    assert course_day(laid, utc(13, 6)) == date(2026, 1, 12)
    assert waking(laid[0], date(2026, 1, 12)) == utc(12, 6)


def test_waking_hours_end_at_the_next_waking_at_the_latest():
    night = Waking(time(20), time(12))  # a night shift, then a Tuesday that begins at seven
    laid = one_day(HOURLY, (night, *DEFAULT_WEEK[1:]), day=date(2026, 1, 12))
    assert laid[-1].end == utc(13, 7)
    assert len(laid) == 11


def test_equal_waking_and_sleep_is_awake_all_round():
    assert len(one_day(HOURLY, every_day(time(7), time(7)))) == 24


# Clock changes. 2026: London 29 March and 25 October, New York 8 March and 1 November,
# Lord Howe (half an hour) 5 April and 4 October.


def test_day_hours_keep_their_wall_clock_over_a_clock_change():
    laid = lay_out([setting(utc(28, 12, month=3))], utc(31, month=3))
    assert starts(laid, day=date(2026, 3, 29))[0] == "06:00"  # 7:00 BST
    assert len([s for s in laid if s.date == date(2026, 3, 29)]) == 15


@pytest.mark.parametrize(
    ("zone", "day", "count", "hours"),
    [
        (LONDON, date(2026, 3, 28), 23, 23),
        (LONDON, date(2026, 10, 24), 24, 25),
        (NEW_YORK, date(2026, 3, 7), 23, 23),
        (NEW_YORK, date(2026, 10, 31), 24, 25),
        ("Australia/Lord_Howe", date(2026, 10, 3), 24, 23.5),
        ("Australia/Lord_Howe", date(2026, 4, 4), 24, 24.5),
    ],
)
def test_days_of_another_length_lose_the_window_that_is_emptied_and_lengthen_the_one_that_repeats(
    zone, day, count, hours
):
    laid = one_day(HOURLY, every_day(time(7), time(7)), zone, day)
    assert len(laid) == count
    assert sum((s.end - s.start for s in laid), timedelta()) == timedelta(hours=hours)
    assert all(a.end == b.start for a, b in itertools.pairwise(laid))


def test_the_missing_hour_in_london_makes_no_slot():
    laid = windows(one_day(HOURLY, every_day(time(20), time(4)), day=date(2026, 3, 28)))
    # 0:00 GMT, then at 1:00 GMT it is 2:00 BST
    assert laid[4:] == ["00:00-01:00", "01:00-02:00", "02:00-03:00"]


def test_the_repeated_hour_in_london_lies_in_one_slot_of_two_hours():
    laid = windows(one_day(HOURLY, every_day(time(20), time(4)), day=date(2026, 10, 24)))
    assert laid[4:7] == ["23:00-00:00", "00:00-02:00", "02:00-03:00"]


def test_the_half_hour_change_of_lord_howe_shortens_one_slot_by_half():
    laid = one_day(HOURLY, every_day(time(20), time(4)), "Australia/Lord_Howe", date(2026, 10, 3))
    lengths = [(s.end - s.start) // timedelta(minutes=1) for s in laid]
    assert lengths == [60, 60, 60, 60, 60, 60, 30, 60]


def test_the_half_hour_change_of_lord_howe_in_autumn_lengthens_one_slot_by_half():
    laid = one_day(HOURLY, every_day(time(20), time(4)), "Australia/Lord_Howe", date(2026, 4, 4))
    lengths = [(s.end - s.start) // timedelta(minutes=1) for s in laid]
    assert lengths == [60, 60, 60, 60, 60, 90, 60, 60]


def test_the_date_samoa_left_out_has_no_slots():
    at = datetime(2011, 12, 28, 12, tzinfo=UTC)
    laid = lay_out([setting(at, zone="Pacific/Apia")], at + timedelta(days=5))
    assert date(2011, 12, 30) not in {s.date for s in laid}
    for day in (date(2011, 12, 29), date(2011, 12, 31)):
        assert len([s for s in laid if s.date == day]) == 15
    # 29th 22:00 at -10, and 31st 7:00 at +14, nine hours later
    assert [s.end for s in laid if s.date == date(2011, 12, 29)][-1] == datetime(
        2011, 12, 30, 8, tzinfo=UTC
    )
    assert next(s.start for s in laid if s.date == date(2011, 12, 31)) == datetime(
        2011, 12, 30, 17, tzinfo=UTC
    )


# Prompts


def slot(start: datetime, exercise: str = "bend") -> Slot:
    return Slot(exercise, "motion", 1, start, start + timedelta(hours=1), start.date(), Dose(10))


def grouped(*members):
    return [
        (f"{due:%H:%M}", [(course, s.exercise, s.start.minute) for course, s in group])
        for due, group in prompt_groups(members)
    ]


def test_slots_that_start_within_ten_minutes_of_the_first_share_its_prompt():
    left, right, scar = slot(utc(14, 8)), slot(utc(14, 8, 10)), slot(utc(14, 8, 11), "scar")
    assert grouped(("left", scar), ("right", right), ("left", left)) == [
        ("08:00", [("left", "bend", 0), ("right", "bend", 10)]),
        ("08:11", [("left", "scar", 11)]),
    ]


def test_slots_are_joined_to_the_first_never_in_a_chain():
    slots = [("c", slot(utc(14, 8, m), e)) for m, e in ((0, "a"), (8, "b"), (16, "d"), (24, "e"))]
    assert [due for due, _ in grouped(*slots)] == ["08:00", "08:16"]


def test_two_slots_of_one_exercise_and_course_never_share_a_prompt():
    one, two, scar = slot(utc(14, 8)), slot(utc(14, 8, 5)), slot(utc(14, 8, 6), "scar")
    assert grouped(("c", one), ("c", two), ("c", scar)) == [
        ("08:00", [("c", "bend", 0), ("c", "scar", 6)]),
        ("08:05", [("c", "bend", 5)]),
    ]


def test_no_slots_no_prompts():
    assert prompt_groups([]) == ()


# Refusals and numbers


def test_a_time_outside_the_waking_hours_of_any_weekday_is_refused():
    week = (*DEFAULT_WEEK[:5], Waking(time(9), time(22)), Waking(time(9), time(22)))
    at = Schedule("at", at=(time(7), time(8, 30), time(12), time(22)))
    assert refuse_times_outside_waking(at, week) == [
        "07:00 is outside the waking hours on Saturday, Sunday.",
        "08:30 is outside the waking hours on Saturday, Sunday.",
        "22:00 is outside the waking hours on Monday, Tuesday, Wednesday, Thursday, Friday,"
        " Saturday, Sunday.",
    ]


def test_a_time_after_midnight_is_inside_waking_hours_that_last_so_long():
    at = Schedule("at", at=(time(0, 30), time(10)))
    assert refuse_times_outside_waking(at, every_day(time(9), time(1))) == []
    assert len(refuse_times_outside_waking(at, every_day(time(9), time(0, 30)))) == 1


def test_other_schedules_have_no_times_to_refuse():
    assert refuse_times_outside_waking(HOURLY, DEFAULT_WEEK) == []


@pytest.mark.parametrize(
    ("schedule", "number"),
    [
        (HOURLY, 15),
        (Schedule("every", every=90), 10),
        (Schedule("every", every=56), 16),
        (Schedule("every", every=120), 8),
        (Schedule("times_a_day", times=4), 4),
        (Schedule("at", at=(time(8), time(20))), 2),
    ],
)
def test_slots_a_day_counts_a_whole_ordinary_day(schedule, number):
    assert slots_a_day(asks(schedule), Waking()) == number
    assert len(one_day(schedule)) == number
