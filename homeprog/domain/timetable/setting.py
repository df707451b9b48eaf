"""What a timetable is laid out from, and the slots it is made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time

from homeprog.domain.regime.dose import Dose, Schedule


@dataclass(frozen=True, slots=True)
class Waking:
    """Waking hours of one weekday, local wall clock; sleep <= wake means after midnight."""

    wake: time = time(7, 0)
    sleep: time = time(22, 0)


Week = tuple[Waking, Waking, Waking, Waking, Waking, Waking, Waking]  # Monday first
DEFAULT_WEEK: Week = (Waking(),) * 7


@dataclass(frozen=True, slots=True)
class Asked:
    """An exercise as a released phase asks for it."""

    exercise: str  # the exercise's stable key
    dose: Dose
    schedule: Schedule


@dataclass(frozen=True, slots=True)
class Setting:
    """Everything the grid depends on, from `at` (a whole minute, UTC) until the next setting."""

    at: datetime
    zone: str
    week: Week
    phase: str | None  # key of the phase in force; None before confirmation or after closing
    revision: int
    asked: tuple[Asked, ...]
    limits: frozenset[str] = frozenset()  # exercises whose slot in progress this change excuses


@dataclass(frozen=True, slots=True)
class Slot:
    """One window in which a dose is due, half-open [start, end) in UTC."""

    exercise: str
    phase: str
    revision: int
    start: datetime
    end: datetime
    date: date  # local date of the waking of its course day
    dose: Dose
    key: tuple[str, datetime] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", (self.exercise, self.start))  # asked for again and again
