"""Settings and readings that the timetable's tests share."""

from datetime import UTC, date, datetime, time, timedelta

from homeprog.domain.regime.dose import Dose, Schedule
from homeprog.domain.timetable import DEFAULT_WEEK, Asked, Setting, Waking, lay_out

HOURLY = Schedule("every", every=60)
LONDON, NEW_YORK, TOKYO = "Europe/London", "America/New_York", "Asia/Tokyo"


def utc(day: int, hour: int = 0, minute: int = 0, month: int = 1) -> datetime:
    """An instant of 2026."""
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def every_day(wake: time, sleep: time):
    return (Waking(wake, sleep),) * 7


def asks(schedule: Schedule = HOURLY, exercise: str = "bend", amount: int = 10) -> Asked:
    return Asked(exercise, Dose(amount), schedule)


def setting(at: datetime, *asked: Asked, zone=LONDON, week=DEFAULT_WEEK, revision=1, limits=()):
    return Setting(at, zone, week, "motion", revision, asked or (asks(),), frozenset(limits))


def starts(slots, day=None):
    """Starts as 'HH:MM' in UTC, those of one course day if it is given."""
    return [f"{s.start:%H:%M}" for s in slots if day is None or s.date == day]


def windows(slots, day=None):
    return [f"{s.start:%H:%M}-{s.end:%H:%M}" for s in slots if day is None or s.date == day]


def one_day(schedule: Schedule, week=DEFAULT_WEEK, zone=LONDON, day=date(2026, 1, 14)):
    """The whole grid of one course day, in force since long before."""
    since = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=5)
    laid = lay_out(
        [setting(since, asks(schedule), week=week, zone=zone)], since + timedelta(days=9)
    )
    return [s for s in laid if s.date == day]
