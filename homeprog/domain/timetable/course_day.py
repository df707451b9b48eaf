"""Course days: from one waking to the next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from homeprog.domain.clock import local, to_utc

from .setting import Setting

MOMENT = timedelta(microseconds=1)
DAY = timedelta(days=1)


def waking(setting: Setting, day: date) -> datetime:
    """The instant at which the course day of `day` begins under one setting."""
    wake = setting.week[day.weekday()].wake
    return to_utc(day, time(wake.hour, wake.minute), setting.zone)


def last_woken(setting: Setting, instant: datetime) -> date:
    """The latest date whose waking, under one setting, is at or before `instant`."""
    day = local(instant, setting.zone).date() + DAY
    while waking(setting, day) > instant:
        day -= DAY
    return day


def day_in_progress(setting: Setting, at: datetime, begun: date | None) -> date:
    """The day in progress when `setting` gives way at `at`; `begun`: the one it took over.

    A waking at `at` itself is no longer the old setting's.
    """
    woken = last_woken(setting, at - MOMENT)
    return woken if begun is None else max(begun, woken)


def course_day(settings: Sequence[Setting], instant: datetime) -> date:
    """The date of the course day an instant belongs to.

    Before the first waking of a date it is the day before. A day that was begun is not gone
    back on when the zone or the waking hours change: it goes on until the first waking of a
    later date. Before the first setting, that setting's hours and zone are used.
    `settings` ascend by `at` and are not empty.
    """
    current, begun = settings[0], None
    for following in settings[1:]:
        if following.at > instant:
            break
        if following.at > current.at:
            begun = day_in_progress(current, following.at, begun)
        current = following
    woken = last_woken(current, instant)
    return woken if begun is None else max(begun, woken)
