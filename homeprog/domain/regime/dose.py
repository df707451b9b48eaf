"""Dose and schedule of an exercise."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from typing import Literal

Unit = Literal["times", "minutes"]
ScheduleKind = Literal["every", "times_a_day", "at"]


@dataclass(frozen=True, slots=True)
class Dose:
    """How much one slot asks for."""

    amount: int  # in `unit`, at least 1
    unit: Unit = "times"


@dataclass(frozen=True, slots=True)
class Schedule:
    """How often: every N minutes, k times a day, or at times of day (local wall clock)."""

    kind: ScheduleKind
    every: int = 0  # minutes, for kind "every"
    times: int = 0  # slots a day, for kind "times_a_day"
    at: tuple[time, ...] = ()  # ascending, for kind "at"
