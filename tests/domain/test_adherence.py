"""Adherence: the summary of a day, and figures with their bounds."""

import json
from dataclasses import replace
from fractions import Fraction

from homeprog.domain.adherence import (
    ZERO,
    DaySummary,
    add,
    day_figures,
    figures,
    from_row,
    judge,
    percents,
    printed,
    total,
)
from homeprog.domain.contact import ContactMark, contacts
from tests.domain.adherence_cases import PHONE, WHOLE_DAY, day, pause
from tests.domain.credit_cases import at, bout, fill_in, hours

# The day's summary


def test_a_day_is_summed_over_its_past_slots():
    bouts = (
        bout("a", "09:20", 10),  # logged
        bout("b", "10:20", 4),  # part
        bout("c", "11:30", 9, entered="13:30"),  # later, and no contact since
        bout("d", "15:20", 3),  # in a slot that is not past yet
    )
    held = [pause("13:00", "14:00")]
    # 12 to 13 is unknown; 14 to 15 is past only later than 15:45.
    assert day(hours(9, 8), *bouts, holds=held, words=("12:00",), now=at("15:45")) == DaySummary(
        logged=1,
        part=1,
        later=1,
        unknown=1,
        excused=1,
        ahead=3,
        known_dose=30,
        unknown_dose=10,
        timely=14,
        told=23,
        missing=11,
        on_time=14,
        on_time_told=23,
        on_time_missing=11,
        days=1,
        days_known=1,
        days_highest=1,
    )


def test_a_slot_with_contact_since_misses_nothing_that_a_phone_may_hold():
    assert day(hours(), bout("a", "09:20", 4), words=("20:00",)).missing == 0
    assert day(hours(), bout("a", "09:20", 4), words=()).missing == 26


def test_credit_by_a_neighbours_bout_is_not_on_time():
    summary = day(hours(count=2), bout("a", "09:20"), bout("b", "09:50"))
    assert (summary.timely, summary.on_time) == (20, 10)
    summary = day(hours(count=2), bout("a", "09:20"), fill_in("b", "10:00", "11:10"), words=())
    assert (summary.timely, summary.on_time, summary.on_time_told) == (20, 10, 10)
    assert (summary.missing, summary.on_time_missing) == (0, 10)


def test_excess_of_a_day_is_that_of_its_slots_and_of_bouts_in_none():
    bouts = (
        bout("a", "09:20", 13),
        bout("b", "15:00", 6),
        bout("c", "06:59", 6),  # before the day's waking
        bout("d", "07:00", 5, day=12),  # after it
        bout("e", "15:00", 7, exercise="lift"),
        bout("f", "15:01", 6, device="carer"),  # one go with b
    )
    assert day(hours(), *bouts, now=at("23:00", 12)).excess == 3 + 6


def test_a_day_keeps_how_often_each_pain_was_answered():
    bouts = (
        bout("a", "09:20", pain=0, pain_asked=True),
        bout("b", "10:20", pain=3, pain_asked=True),
        bout("c", "11:20", pain=7, pain_asked=True),
        bout("d", "11:40", pain=3, pain_asked=True),
        bout("e", "11:50", pain_asked=True),  # skipped is unknown, never 0
        bout("f", "11:55"),
    )
    summary = day(hours(), *bouts)
    assert (summary.pain_asked, summary.pain_answers) == (5, 4)
    assert (summary.pain_lowest, summary.pain_median_doubled, summary.pain_highest) == (0, 6, 7)
    assert summary.pain == (1, 0, 0, 2, 0, 0, 0, 1, 0, 0, 0)


def test_the_median_of_two_pains_lies_between_them():
    two = bout("a", "09:20", pain=2), bout("b", "10:20", pain=5)
    assert day(hours(), *two).pain_median_doubled == 7
    assert (ZERO.pain_lowest, ZERO.pain_median_doubled, ZERO.pain_highest) == (None, None, None)


def test_one_go_on_two_phones_gives_one_pain():
    here, there = bout("a", "09:20", pain=2), bout("b", "09:21", 9, device="carer", pain=6)
    assert day(hours(), here, there).pain[2] == 1
    assert day(hours(), here, there).pain_answers == 1
    silent = replace(here, pain=None)
    assert day(hours(), silent, there).pain[6] == 1


def test_the_monitor_gets_known_slots_and_those_logged_or_later():
    late = bout("b", "10:20", entered="14:00")
    summary = day(hours(9, 5), bout("a", "09:20"), late, words=("12:50",))
    assert (summary.reached, summary.known, summary.slots) == (2, 3, 5)


def test_a_summary_comes_back_from_its_row_as_it_was():
    summary = day(hours(), bout("a", "09:20", 13, pain=4, pain_asked=True))
    row = json.loads(json.dumps(summary.as_row()))
    assert from_row({**row, "course": "x"}) == summary


def test_a_day_without_slots_sums_to_nothing():
    assert day([]) == ZERO


# Figures


def window(**values):
    return figures(DaySummary(**values))


def test_lowest_shown_and_highest_are_exact():
    result = window(
        logged=5, unknown=2, known_dose=50, unknown_dose=20, timely=31, told=37, missing=24
    )
    assert result.dose.lowest == Fraction(31, 70)
    assert result.dose.shown == Fraction(37, 50)
    assert result.dose.highest == Fraction(61, 70)
    assert result.later == Fraction(6, 37)


def test_on_time_has_the_same_three():
    result = window(
        logged=5,
        known_dose=50,
        unknown_dose=20,
        on_time=20,
        on_time_told=30,
        on_time_missing=25,
    )
    assert result.on_time.lowest == Fraction(20, 70)
    assert result.on_time.shown == Fraction(30, 50)
    assert result.on_time.highest == Fraction(55, 70)


def test_days_covered_are_those_whose_own_figure_reaches_80_percent():
    full = day(hours(), *(bout(c, f"{c}:20") for c in ("09", "10", "11")))
    later = day(hours(), *(bout(c, f"{c}:20", 9, entered="20:00") for c in ("09", "10", "11")))
    bare = day(hours())
    silent = day(hours(), words=())
    empty = day(hours(), holds=[pause("06:00")])
    result = figures(total([full, later, bare, silent, empty])).days
    assert (result.lowest, result.shown, result.highest) == (
        Fraction(1, 4),
        Fraction(2, 3),
        Fraction(3, 4),
    )


def test_a_day_is_covered_as_shown_by_its_known_slots_alone():
    result = figures(day(hours(), bout("a", "09:20"), words=("10:50",))).days
    assert (result.lowest, result.shown, result.highest) == (0, 1, 1)


def test_a_window_prints_its_bounds_its_shown_figure_and_what_it_is_of():
    # 84 slots of 10: 62.6 % timely, 70.2 % at most; 521 of 790 known is 65.9 %.
    result = window(
        logged=79,
        unknown=5,
        excused=6,
        known_dose=790,
        unknown_dose=50,
        timely=521,
        told=521,
        missing=69,
    )
    assert printed(result) == "62 to 71 %, shown 66, of 84 (6 not asked for)"
    assert printed(replace(result, not_asked=0)) == "62 to 71 %, shown 66, of 84"


def test_lowest_is_rounded_down_highest_up_and_shown_half_up():
    result = window(logged=1, known_dose=200, timely=125, told=125)
    assert percents(result.dose) == (62, 63, 63)  # 62.5 %
    result = window(logged=1, known_dose=1000, timely=624, told=624)
    assert percents(result.dose) == (62, 62, 63)
    result = window(logged=1, known_dose=100, timely=62, told=62)
    assert percents(result.dose) == (62, 62, 62)


def test_where_nothing_is_known_no_figure_is_shown():
    result = figures(day(hours(), words=()))
    assert (result.dose.lowest, result.dose.shown, result.dose.highest) == (0, None, 1)
    assert result.days.shown is None
    assert result.later is None
    assert percents(result.dose) is None
    assert printed(result) == "not known yet"


def test_where_nothing_was_asked_there_is_no_figure_at_all():
    result = figures(ZERO)
    assert (result.dose.lowest, result.dose.shown, result.dose.highest) == (None, None, None)
    assert printed(result) == "not known yet"


def test_excused_slots_are_in_no_figure_but_are_counted():
    result = figures(day(hours(9, 4), bout("a", "10:30"), holds=[pause("09:00", "11:00")]))
    assert (result.slots, result.not_asked, result.known) == (2, 2, 2)
    assert result.dose.shown == 0


def test_an_excused_slot_is_counted_once_it_is_past():
    held = [pause("06:00")]
    assert day(hours(), holds=held, now=at("10:45")).excused == 0
    assert day(hours(), holds=held, now=at("10:45:01")).excused == 1


def test_a_window_over_days_is_the_sum_of_its_days():
    two = [*hours(), *hours(day=12)]
    bouts = bout("a", "09:20", 13), bout("b", "10:20", 5, day=12, pain=4)
    now = at("23:00", 12)
    proof = contacts([PHONE], [ContactMark("phone", now, True)], [], now)
    result = judge(two, bouts, [], {}, proof, now)
    first = day_figures("bend", two[:3], result, bouts, WHOLE_DAY)
    second = day_figures("bend", two[3:], result, bouts, (WHOLE_DAY[1], at("07:00", 13)))
    assert add(first, second) == total([second, first])
    both = figures(add(first, second))
    assert (both.slots, both.dose.shown) == (6, Fraction(15, 60))
    assert add(first, second).excess == 3
    assert add(first, ZERO) == first
