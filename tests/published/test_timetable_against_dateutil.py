"""Whole years of the timetable against an outside recurrence engine.

Source: RFC 5545 recurrence rules as python-dateutil implements them (dateutil.rrule), put
into UTC with the standard library's zoneinfo (IANA time zone data, PEP 495 folds).
"""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from dateutil.rrule import DAILY, MINUTELY, rrule, rruleset

from homeprog.domain.regime.dose import Dose, Schedule
from homeprog.domain.timetable import Asked, Setting, Waking, course_day, lay_out

ZONES = (
    "Europe/London",
    "America/New_York",
    "Australia/Lord_Howe",  # half an hour of summer time
    "America/St_Johns",  # -3:30
    "Asia/Kathmandu",  # +5:45, no summer time
    "America/Santiago",  # changes at midnight
    "Pacific/Chatham",  # +12:45, changes at 2:45
)
FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)


def expected(rule, zone: str) -> list[datetime]:
    """The rule's wall-clock times in UTC: the first of two, those that do not exist left out."""
    there = ZoneInfo(zone)
    walls = (wall.replace(tzinfo=there, fold=0) for wall in rule)
    return [wall.astimezone(UTC) for wall in walls if tz.datetime_exists(wall)]


def laid_out(schedule: Schedule, zone: str, hours: Waking):
    asked = (Asked("bend", Dose(10), schedule),)
    setting = Setting(datetime(2025, 12, 20, tzinfo=UTC), zone, (hours,) * 7, "motion", 1, asked)
    laid = lay_out([setting], datetime(2027, 1, 5, tzinfo=UTC))
    return [slot for slot in laid if FIRST <= slot.date <= LAST]


def daily(**by) -> rrule:
    return rrule(
        DAILY,
        dtstart=datetime.combine(FIRST, time()),
        until=datetime.combine(LAST, time(23, 59)),
        bysecond=0,
        **by,
    )


@pytest.mark.parametrize("zone", ZONES)
def test_a_year_of_hourly_slots_is_a_daily_rule_by_hour(zone):
    laid = laid_out(Schedule("every", every=60), zone, Waking())
    rule = daily(byhour=range(7, 22), byminute=0)
    assert [s.start for s in laid] == expected(rule, zone)
    assert [s.end for s in laid] == expected(daily(byhour=range(8, 23), byminute=0), zone)
    assert len(laid) == 365 * 15


@pytest.mark.parametrize("zone", ZONES)
def test_a_year_of_slots_every_50_minutes_is_a_minutely_rule_from_each_waking(zone):
    laid = laid_out(Schedule("every", every=50), zone, Waking(time(6, 30), time(23)))
    rules = rruleset()
    for morning in daily(byhour=6, byminute=30):
        # 16 h 30 min hold 19 windows of 50 min and a rest of 40, more than half of one
        rules.rrule(rrule(MINUTELY, interval=50, count=20, dtstart=morning))
    assert [s.start for s in laid] == expected(rules, zone)


@pytest.mark.parametrize("zone", ZONES)
def test_a_year_of_four_a_day_is_a_rule_set_of_its_edges(zone):
    laid = laid_out(Schedule("times_a_day", times=4), zone, Waking())
    rules = rruleset()
    for hour, minute in ((7, 0), (10, 45), (14, 30), (18, 15)):
        rules.rrule(daily(byhour=hour, byminute=minute))
    assert [s.start for s in laid] == expected(rules, zone)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("every", [15, 30, 60])
def test_round_the_clock_every_wall_clock_time_that_exists_begins_a_slot_and_no_other(zone, every):
    """Night and day of a whole year, with its days of 23, 23.5, 24.5 and 25 hours."""
    laid = laid_out(Schedule("every", every=every), zone, Waking(time(0), time(0)))
    rule = rrule(
        MINUTELY,
        interval=every,
        dtstart=datetime.combine(FIRST, time()),
        until=datetime.combine(LAST, time(23, 59)),
    )
    starts = {s.start for s in laid}
    exist = set(expected(rule, zone))
    assert exist - starts == set()
    # What begins elsewhere begins where the clocks have just gone on: the first time that exists
    assert all(_clocks_have_gone_on(at, zone) for at in starts - exist)
    assert all(one.end == two.start for one, two in pairwise(laid))


def _clocks_have_gone_on(at: datetime, zone: str) -> bool:
    there = ZoneInfo(zone)
    wall, before = at.astimezone(there), (at - timedelta(minutes=1)).astimezone(there)
    skipped = wall.replace(tzinfo=None) - before.replace(tzinfo=None)
    return skipped > timedelta(minutes=1)


@pytest.mark.parametrize("zone", ZONES)
def test_a_year_of_course_days_begins_at_a_daily_rule_of_wakings(zone):
    setting = Setting(datetime(2025, 12, 20, tzinfo=UTC), zone, (Waking(),) * 7, "motion", 1, ())
    wakings = expected(daily(byhour=7, byminute=0), zone)
    for number, instant in enumerate(wakings):
        day = FIRST + timedelta(days=number)
        assert course_day([setting], instant) == day
        assert course_day([setting], instant - timedelta(seconds=1)) == day - timedelta(days=1)
