"""Holds: what keeps slots from being asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

HoldKind = Literal["pause", "stop_flag", "hospital", "until_release"]


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold of a course (exercise None) or of one exercise, half-open [start, end)."""

    kind: HoldKind
    start: datetime
    end: datetime | None = None  # None: still on
    exercise: str | None = None

    def covers(self, exercise: str) -> bool:
        return self.exercise is None or self.exercise == exercise

    def on_at(self, instant: datetime) -> bool:
        return self.start <= instant and (self.end is None or instant < self.end)

    def meets(self, start: datetime, end: datetime) -> bool:
        """Whether any part of [start, end) lies in the hold."""
        return self.start < end and (self.end is None or start < self.end)


def held_at(holds: Iterable[Hold], exercise: str, instant: datetime) -> bool:
    """Whether `exercise` is on hold at `instant`."""
    return any(h.covers(exercise) and h.on_at(instant) for h in holds)
