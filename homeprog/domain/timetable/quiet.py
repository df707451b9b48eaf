"""Which reminders are muted, and when one makes no sound. Slots stay due and loggable."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Literal

from homeprog.domain.clock import local

from .course_day import course_day, waking
from .grid import falls_asleep
from .setting import Setting
from .spread import spread

Fewer = Literal["every_second", "four_a_day"]
FOUR = 4


@dataclass(frozen=True, slots=True)
class Wish:
    """A patient's wish for quiet, in force over [starts, ends)."""

    kind: str  # until | weekly | fewer
    starts: datetime
    ends: datetime | None
    weekday: int | None = None  # Monday 0
    opens: time | None = None  # local wall clock; closes <= opens: the next day
    closes: time | None = None
    fewer: Fewer | None = None

    def holds(self, at: datetime) -> bool:
        return self.starts <= at and (self.ends is None or at < self.ends)


def mutes(wishes: Iterable[Wish], due: datetime, day: Sequence[datetime], zone: str) -> bool:
    """Whether the reminder at `due` is muted; `day` holds when all of its course day fall due."""
    held = [wish for wish in wishes if wish.holds(due)]
    if any(wish.kind == "until" for wish in held):
        return True
    wall = local(due, zone)
    if any(wish.kind == "weekly" and weekly(wish, wall) for wish in held):
        return True
    return any(wish.fewer is not None and due not in rings(day, wish.fewer) for wish in held)


def weekly(wish: Wish, wall: datetime) -> bool:
    """Whether `wall` lies in [opens, closes) of the wish's weekday."""
    if wish.weekday is None or wish.opens is None or wish.closes is None:
        return False
    at, today = wall.time(), wall.weekday()
    if wish.opens < wish.closes:
        return today == wish.weekday and wish.opens <= at < wish.closes
    evening = today == wish.weekday and at >= wish.opens
    return evening or (today == (wish.weekday + 1) % 7 and at < wish.closes)


def rings(day: Sequence[datetime], fewer: Fewer) -> Collection[datetime]:
    """Of a whole day's reminders, ascending, those that stay: the first is always among them."""
    return day[::2] if fewer == "every_second" else spread(day, FOUR)


def soundless(settings: Sequence[Setting], at: datetime, edge: timedelta) -> bool:
    """Whether `at` lies within `edge` (30 min) of waking, or of falling asleep that day."""
    in_force = [setting for setting in settings if setting.at <= at]
    if not in_force:
        return False
    setting, day = in_force[-1], course_day(settings, at)
    woken, asleep = waking(setting, day), falls_asleep(setting, day)
    return at < woken + edge or at >= asleep - edge
