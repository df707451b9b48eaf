"""A bout: one logged go at one exercise."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

How = Literal["paced", "counted", "one_tap", "later"]
Source = Literal["phone", "telephone", "paper"]

LATEST_AHEAD = timedelta(minutes=2)  # a phone's clock may run this far ahead of receipt


@dataclass(frozen=True, slots=True)
class Bout:
    """One logged go, as the phone (or a staff member) told it. Times are instants in UTC."""

    id: str
    device: str  # device id, or "staff" for what staff log by telephone or from paper
    exercise: str
    amount: int  # times or minutes, at least 1
    done_at: datetime | None  # None where a slot was filled in without an invented minute
    entered_at: datetime
    received_at: datetime
    slot_start: datetime | None = None  # set on a fill-in of a slot that has ended
    excess_exempt: bool = False  # made under an older plan version: never excess
    pain: int | None = None  # 0 to 10; None is skipped or not asked, never 0
    pain_asked: bool = False

    @property
    def fill_in(self) -> bool:
        """Whether it was filled in for a slot that had ended."""
        return self.slot_start is not None

    @property
    def at(self) -> datetime:
        """When it was done; of a fill-in, which names no minute, when it was entered."""
        if self.fill_in or self.done_at is None:
            return self.entered_at
        return self.done_at


def held_within(at: datetime, opened: datetime, received: datetime) -> datetime:
    """A device's time held within [the course's opening, received + 2 min]."""
    return min(max(at, opened), received + LATEST_AHEAD)


def corrected(told: datetime, offset_ms: int, opened: datetime, received: datetime) -> datetime:
    """A device's time plus the clock offset it had then (ms), held within the course."""
    return held_within(told + timedelta(milliseconds=offset_ms), opened, received)
