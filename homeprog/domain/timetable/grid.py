"""The windows of one whole course day: wall-clock minutes first, then instants."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise

from homeprog.domain.clock import wall_to_utc
from homeprog.domain.regime.dose import Schedule

from .setting import Asked, Setting, Waking, Week

DAY = 24 * 60  # minutes
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

Span = tuple[int, int]  # minutes after waking, half-open
Window = tuple[datetime, datetime]  # instants, half-open


def hours_awake(waking: Waking) -> int:
    """Minutes on the wall clock from waking to sleep, 1 to 1440."""
    return (_minute(waking.sleep) - _minute(waking.wake)) % DAY or DAY


def hours_on(week: Week, weekday: int) -> int:
    """Minutes awake on a weekday (Monday 0), ending at the next day's waking at the latest."""
    today, tomorrow = week[weekday], week[(weekday + 1) % 7]
    return min(hours_awake(today), DAY + _minute(tomorrow.wake) - _minute(today.wake))


@lru_cache(maxsize=4096)
def spans(schedule: Schedule, wake: time, awake: int) -> tuple[Span, ...]:
    """The windows of an ordinary day of `awake` minutes, in minutes after waking."""
    if schedule.kind == "every":
        return _tiles(schedule.every, awake)
    if schedule.kind == "times_a_day":
        edges = [awake * part // schedule.times for part in range(schedule.times + 1)]
    else:
        edges = _around(schedule.at, wake, awake)
    return tuple((start, end) for start, end in pairwise(edges) if start < end)


def slots_a_day(asked: Asked, waking: Waking) -> int:
    """The number of slots of a whole ordinary day with these waking hours."""
    return len(spans(asked.schedule, waking.wake, hours_awake(waking)))


def windows(asked: Asked, setting: Setting, day: date) -> tuple[Window, ...]:
    """The whole day's windows in UTC; one that a clock change has emptied makes none."""
    weekday = day.weekday()
    awake = hours_on(setting.week, weekday)
    return _windows(asked.schedule, setting.week[weekday].wake, awake, setting.zone, day)


@lru_cache(maxsize=4096)  # patients of one zone share their hours, and a day is laid out often
def _windows(
    schedule: Schedule, wake: time, awake: int, zone: str, day: date
) -> tuple[Window, ...]:
    base = datetime.combine(day, time()) + timedelta(minutes=_minute(wake))
    laid = (
        (
            wall_to_utc(base + timedelta(minutes=start), zone),
            wall_to_utc(base + timedelta(minutes=end), zone),
        )
        for start, end in spans(schedule, wake, awake)
    )
    return tuple(window for window in laid if window[0] < window[1])


def falls_asleep(setting: Setting, day: date) -> datetime:
    """The instant at which the waking hours of a course day end, under one setting."""
    weekday = day.weekday()
    awake = _minute(setting.week[weekday].wake) + hours_on(setting.week, weekday)
    return wall_to_utc(datetime.combine(day, time()) + timedelta(minutes=awake), setting.zone)


def refuse_times_outside_waking(schedule: Schedule, week: Week) -> list[str]:
    """A message for each time of day that lies outside the waking hours of some weekday."""
    messages = []
    for at in schedule.at if schedule.kind == "at" else ():
        asleep = [name for n, name in enumerate(WEEKDAYS) if not _is_awake(at, week, n)]
        if asleep:
            messages.append(f"{at:%H:%M} is outside the waking hours on {', '.join(asleep)}.")
    return messages


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _after(wake: time, at: time) -> int:
    """Minutes from waking to a time of the same course day, be it after midnight."""
    return (_minute(at) - _minute(wake)) % DAY


def _is_awake(at: time, week: Week, weekday: int) -> bool:
    return _after(week[weekday].wake, at) < hours_on(week, weekday)


def _tiles(every: int, awake: int) -> tuple[Span, ...]:
    """Windows of `every` minutes; a rest shorter than half of one makes no window."""
    return tuple(
        (start, min(start + every, awake))
        for start in range(0, awake, every)
        if 2 * (awake - start) >= every
    )


def _around(at: tuple[time, ...], wake: time, awake: int) -> list[int]:
    """Edges from midpoint to midpoint of the times, the outer ones at waking and sleep."""
    after = sorted({minute for one in at if (minute := _after(wake, one)) < awake})
    if not after:
        return []
    return [0, *((one + two) // 2 for one, two in pairwise(after)), awake]
