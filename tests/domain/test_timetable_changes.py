"""The timetable: what a change in the middle of a day leaves standing."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from homeprog.domain.regime.dose import Schedule
from homeprog.domain.timetable import course_day, cut_slots, lay_out
from tests.domain.timetable_cases import (
    NEW_YORK,
    TOKYO,
    asks,
    every_day,
    setting,
    starts,
    utc,
    windows,
)

# First coming into force


@pytest.mark.parametrize(
    ("minute", "first"), [(0, "10:00-11:00"), (1, "10:01-11:00"), (30, "10:30-11:00")]
)
def test_a_release_in_mid_window_keeps_the_rest_if_at_least_half_is_left(minute, first):
    laid = windows(lay_out([setting(utc(14, 10, minute))], utc(15)))
    assert laid[0] == first
    assert laid[1] == "11:00-12:00"


def test_a_release_in_mid_window_drops_the_rest_if_less_than_half_is_left():
    assert windows(lay_out([setting(utc(14, 10, 31))], utc(15)))[0] == "11:00-12:00"


def test_a_release_by_night_begins_at_the_next_waking():
    assert lay_out([setting(utc(14, 23))], utc(16))[0].start == utc(15, 7)


def test_an_exercise_added_later_comes_into_force_by_the_half_left_rule_others_do_not():
    both = setting(utc(14, 10, 20), asks(), asks(exercise="scar"), revision=2)
    laid = lay_out([setting(utc(10, 7)), both], utc(15))
    today = [s for s in laid if s.date == date(2026, 1, 14)]
    assert windows(s for s in today if s.exercise == "scar")[0] == "10:20-11:00"
    assert windows(s for s in today if s.exercise == "bend")[3:5] == ["10:00-11:00", "11:00-12:00"]


def test_an_exercise_that_comes_back_gets_no_part_of_a_window():
    other = setting(utc(14, 9), asks(exercise="scar"))
    back = setting(utc(14, 12, 10), asks(), asks(exercise="scar"))
    laid = lay_out([setting(utc(10, 7)), other, back], utc(15))
    today = [s for s in laid if s.date == date(2026, 1, 14) and s.exercise == "bend"]
    assert starts(today)[:3] == ["07:00", "08:00", "13:00"]


def test_a_setting_replaced_at_its_own_instant_never_brought_anything_into_force():
    wrong = setting(utc(14, 10), asks(exercise="scar"))
    right = setting(utc(14, 10), asks(exercise="bend"))
    again = setting(utc(14, 11, 10), asks(exercise="scar"))
    laid = lay_out([wrong, right, again], utc(14, 12))
    assert [(s.exercise, f"{s.start:%H:%M}") for s in laid] == [
        ("bend", "10:00"),
        ("bend", "11:00"),
        ("scar", "11:10"),
    ]


# A revision in mid-day


def test_a_revision_from_60_to_90_minutes_starts_after_the_slot_in_progress():
    slower = setting(utc(14, 10, 20), asks(Schedule("every", every=90)), revision=2)
    today = windows(lay_out([setting(utc(10, 7)), slower], utc(15)), date(2026, 1, 14))
    # the new grid: 7:00, 8:30, 10:00, 11:30, ... ten a day; four have begun, six more
    assert today[:5] == ["07:00-08:00", "08:00-09:00", "09:00-10:00", "10:00-11:00", "11:30-13:00"]
    assert today[-1] == "19:00-20:30"
    assert len(today) == 10


def test_a_revision_from_90_to_60_minutes_waits_for_the_end_of_the_slot_in_progress():
    faster = setting(utc(14, 9, 10), asks(), revision=2)
    slow = setting(utc(10, 7), asks(Schedule("every", every=90)))
    today = windows(lay_out([slow, faster], utc(15)), date(2026, 1, 14))
    # 8:30-10:00 is in progress: the window from 9:00 is over, that from 10:00 is the next
    assert today[:4] == ["07:00-08:30", "08:30-10:00", "10:00-11:00", "11:00-12:00"]


def test_a_window_that_begins_at_the_change_itself_is_the_new_one():
    slower = setting(utc(14, 10), asks(Schedule("every", every=90)), revision=2)
    today = [s for s in lay_out([setting(utc(10, 7)), slower], utc(15)) if s.date.day == 14]
    assert windows(today)[2:4] == ["09:00-10:00", "10:00-11:30"]
    assert today[3].revision == 2


def test_nothing_more_is_asked_today_when_the_new_number_is_reached():
    four = setting(utc(14, 12, 30), asks(Schedule("times_a_day", times=4)), revision=2)
    laid = lay_out([setting(utc(10, 7)), four], utc(16))
    assert starts(laid, day=date(2026, 1, 14)) == [f"{h:02}:00" for h in range(7, 13)]
    assert len([s for s in laid if s.date == date(2026, 1, 15)]) == 4


def test_of_two_changes_in_one_day_the_second_counts_all_that_began_before_it():
    four = setting(utc(14, 9, 30), asks(Schedule("times_a_day", times=4)), revision=2)
    five = setting(utc(14, 13), asks(Schedule("times_a_day", times=5)), revision=3)
    laid = lay_out([setting(utc(10, 7)), four, five], utc(15))
    # three hourly ones, one of four (10:45), one of five after its end (16:00)
    assert windows(laid, date(2026, 1, 14)) == [
        "07:00-08:00",
        "08:00-09:00",
        "09:00-10:00",
        "10:45-14:30",
        "16:00-19:00",
    ]


def test_a_change_that_changes_nothing_for_an_exercise_leaves_its_grid():
    both = setting(utc(14, 10, 20), asks(), asks(exercise="scar"))
    before = lay_out([setting(utc(10, 7))], utc(15))
    after = [s for s in lay_out([setting(utc(10, 7)), both], utc(15)) if s.exercise == "bend"]
    assert windows(after) == windows(before)


def test_a_withdrawn_exercise_keeps_the_slot_in_progress_and_gets_no_other():
    without = setting(utc(14, 10, 20), asks(exercise="scar"))
    laid = lay_out([setting(utc(10, 7)), without], utc(16))
    bends = [s for s in laid if s.exercise == "bend"]
    assert bends[-1].start == utc(14, 10)
    assert bends[-1].end == utc(14, 11)


def test_earlier_waking_begins_the_day_at_the_change():
    late = setting(utc(10, 12), week=every_day(time(9), time(22)))
    early = setting(utc(14, 7, 30), week=every_day(time(6), time(22)))
    assert course_day([late, early], utc(14, 7, 29)) == date(2026, 1, 13)
    assert course_day([late, early], utc(14, 7, 30)) == date(2026, 1, 14)
    assert starts(lay_out([late, early], utc(15)), day=date(2026, 1, 14))[0] == "08:00"


def test_later_waking_does_not_take_a_day_back_that_has_begun():
    early = setting(utc(10, 12), week=every_day(time(7), time(2)))
    late = setting(utc(14, 8, 30), week=every_day(time(10), time(9)))
    assert course_day([early, late], utc(14, 8, 45)) == date(2026, 1, 14)
    laid = [s for s in lay_out([early, late], utc(16)) if s.start >= utc(14, 7)]
    # the 13th, whose new hours would last till nine, gets no more
    assert windows(laid)[:3] == ["07:00-08:00", "08:00-09:00", "10:00-11:00"]
    assert {s.date for s in laid[:3]} == {date(2026, 1, 14)}


# Slots a change excuses


def test_a_change_that_withdraws_an_exercise_cuts_its_slot_in_progress():
    both = setting(utc(10, 7), asks(), asks(exercise="scar"))
    without = setting(utc(14, 10, 20), asks(exercise="scar"))
    settings = [both, without]
    cuts = cut_slots(settings, lay_out(settings, utc(16)))
    assert cuts == {("bend", utc(14, 10)): utc(14, 10, 20)}


def test_a_change_marked_as_limiting_an_exercise_cuts_its_slot_in_progress():
    both = setting(utc(10, 7), asks(), asks(exercise="scar"))
    less = setting(utc(14, 10, 20), asks(amount=5), asks(exercise="scar"), limits={"bend"})
    settings = [both, less]
    cuts = cut_slots(settings, lay_out(settings, utc(16)))
    assert cuts == {("bend", utc(14, 10)): utc(14, 10, 20)}


def test_a_limit_counts_though_another_change_takes_effect_at_the_same_instant():
    less = setting(utc(14, 10, 20), asks(amount=5), limits={"bend"})
    settings = [setting(utc(10, 7)), less, replace(less, revision=3, limits=frozenset())]
    cuts = cut_slots(settings, lay_out(settings, utc(16)))
    assert cuts == {("bend", utc(14, 10)): utc(14, 10, 20)}


def test_a_slot_that_ends_or_begins_at_the_change_is_not_cut():
    settings = [setting(utc(10, 7)), setting(utc(14, 10), limits={"bend"})]
    assert cut_slots(settings, lay_out(settings, utc(16))) == {}


def test_the_first_of_two_cuts_stands():
    less = setting(utc(14, 10, 20), limits={"bend"})
    gone = replace(setting(utc(14, 10, 40)), phase=None, asked=())
    settings = [setting(utc(10, 7)), less, gone]
    cuts = cut_slots(settings, lay_out(settings, utc(16)))
    assert cuts == {("bend", utc(14, 10)): utc(14, 10, 20)}


# Travelling


def test_going_west_the_day_goes_on_within_its_number():
    west = setting(utc(14, 15, 10), zone=NEW_YORK)  # 10:10 there
    laid = lay_out([setting(utc(10, 7)), west], utc(16))
    today = [s for s in laid if s.date == date(2026, 1, 14)]
    # nine began in London, 7:00 to 15:00; six more of the fifteen, though there are ten left
    assert len(today) == 15
    assert starts(today)[8:] == ["15:00", "16:00", "17:00", "18:00", "19:00", "20:00", "21:00"]
    assert next(s.start for s in laid if s.date == date(2026, 1, 15)) == utc(15, 12)


def test_going_east_the_rest_of_the_day_falls_away_and_the_next_begins_at_its_waking():
    east = setting(utc(14, 15, 10), zone=TOKYO)  # 0:10 on the 15th there
    settings = [setting(utc(10, 7)), east]
    laid = lay_out(settings, utc(16))
    assert starts(laid, day=date(2026, 1, 14)) == [f"{h:02}:00" for h in range(7, 16)]
    assert next(s.start for s in laid if s.date == date(2026, 1, 15)) == utc(14, 22)
    assert course_day(settings, utc(14, 21, 59)) == date(2026, 1, 14)
    assert course_day(settings, utc(14, 22)) == date(2026, 1, 15)


def test_going_east_into_a_later_date_begins_that_date_at_once():
    east = setting(utc(14, 20, 10), zone="Pacific/Kiritimati")  # 10:10 on the 15th there
    laid = lay_out([setting(utc(10, 7)), east], utc(16))
    assert [s.date.day for s in laid if s.start in (utc(14, 20), utc(14, 21))] == [14, 15]


def test_going_back_over_the_date_line_earlier_dates_get_no_more():
    apia, honolulu = "Pacific/Apia", "Pacific/Honolulu"
    at = utc(13, 22, 30)  # 11:30 on the 14th in Samoa, 12:30 on the 13th in Hawaii
    settings = [setting(utc(5), zone=apia), setting(at, zone=honolulu)]
    laid = lay_out(settings, utc(17))
    fourteenth = [s.start for s in laid if s.date == date(2026, 1, 14)]
    assert fourteenth[:5] == [utc(13, 18 + h) for h in range(5)]
    # what is left of its number comes when it is the 14th again, from 7:00 there
    assert fourteenth[5:] == [utc(14, 17) + timedelta(hours=h) for h in range(10)]
    assert course_day(settings, utc(14, 3)) == date(2026, 1, 14)
    assert course_day(settings, utc(15, 16, 59)) == date(2026, 1, 14)
    assert course_day(settings, utc(15, 17)) == date(2026, 1, 15)
    assert not [s for s in laid if s.start > at and s.date < date(2026, 1, 14)]


def test_a_slot_in_progress_goes_on_through_a_change_of_zone():
    there = setting(utc(14, 9, 40), zone="Asia/Kathmandu")  # +5:45: windows at a quarter past
    laid = lay_out([setting(utc(10, 7)), there], utc(15))
    assert windows(laid, date(2026, 1, 14))[2:4] == ["09:00-10:00", "10:15-11:15"]


def test_what_is_left_of_a_day_is_the_same_when_only_its_end_is_asked_for():
    settings = [
        setting(utc(5), zone="Pacific/Apia"),
        setting(utc(13, 22, 30), zone="Pacific/Honolulu"),
    ]
    whole = lay_out(settings, utc(17))
    since = utc(14, 20)  # the 15th in Samoa, still the 14th for this patient
    assert lay_out(settings, utc(17), since) == tuple(s for s in whole if s.end > since)


def test_a_zone_replaced_at_its_own_instant_begins_no_day():
    settings = [
        setting(utc(10, 7)),
        setting(utc(14, 20), zone="Pacific/Kiritimati"),  # would be 10:00 on the 15th
        setting(utc(14, 20)),
    ]
    assert course_day(settings, utc(14, 20)) == date(2026, 1, 14)
    assert starts(lay_out(settings, utc(15)), date(2026, 1, 14))[-1] == "21:00"


def test_a_waking_at_the_change_itself_is_the_new_hours_to_set():
    settings = [
        setting(utc(10, 12), week=every_day(time(7), time(22))),
        setting(utc(14, 7), week=every_day(time(10), time(9))),
    ]
    assert course_day(settings, utc(14, 7)) == date(2026, 1, 13)
    assert windows(lay_out(settings, utc(15)), date(2026, 1, 13))[-2:] == [
        "07:00-08:00",
        "08:00-09:00",
    ]


def test_what_stood_ready_before_confirmation_comes_into_force_only_with_it():
    ready = replace(setting(utc(10, 7)), phase=None)
    laid = lay_out([ready, setting(utc(14, 10, 20))], utc(15))
    assert windows(laid)[:2] == ["10:20-11:00", "11:00-12:00"]


def test_closing_cuts_the_slot_in_progress():
    closed = replace(setting(utc(14, 10, 20)), phase=None)
    settings = [setting(utc(10, 7)), closed]
    laid = lay_out(settings, utc(16))
    assert laid[-1].start == utc(14, 10)
    assert cut_slots(settings, laid) == {("bend", utc(14, 10)): utc(14, 10, 20)}
