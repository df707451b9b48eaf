"""When a course day begins and ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from .course_day import DAY, course_day, waking
from .setting import Setting


def day_start(settings: Sequence[Setting], day: date) -> datetime:
    """The first instant whose course day is `day` or a later one.

    `settings` ascend by `at` and are not empty; before the first its hours and zone are used.
    A date that a change of zone leaves out has no length: it begins where the next one does.
    """
    changes = sorted(set(_changes(settings, day)))
    return next(at for at in changes if course_day(settings, at) >= day)


def day_span(settings: Sequence[Setting], day: date) -> tuple[datetime, datetime]:
    """The course day as [its waking, the next)."""
    return day_start(settings, day), day_start(settings, day + DAY)


def _changes(settings: Sequence[Setting], day: date) -> Iterator[datetime]:
    """Every instant at which the course day may become `day`: a waking, or a new setting."""
    for setting in settings:
        yield setting.at
        yield waking(setting, day)
        yield waking(setting, day + DAY)
