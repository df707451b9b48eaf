"""The clinic's settings for credit and standing, and what 'timely', 'done' and 'past' mean."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction

from ..bout import Bout
from ..timetable import Slot

Key = tuple[str, datetime]  # a slot's key: (exercise, start)


@dataclass(frozen=True, slots=True)
class Rules:
    """Clinic settings, with their defaults (docs/METHODS.md)."""

    grace: timedelta = timedelta(minutes=15)  # either side of a slot's edge, itself included
    grace_part: int = 4  # the grace is at most this part (a quarter) of the shorter slot
    timely: timedelta = timedelta(minutes=45)  # after a slot's end
    done: Fraction = Fraction(4, 5)  # share of the dose that makes a slot logged, a day covered
    same_go: timedelta = timedelta(minutes=10)  # bouts of two phones nearer than this are one go
    fill_in: timedelta = timedelta(hours=48)  # how long after its end a slot can be filled in

    def closes(self, slot: Slot) -> datetime:
        """The last instant at which a bout entered for `slot` is timely."""
        return slot.end + self.timely

    def past(self, slot: Slot, now: datetime) -> bool:
        """Whether `slot` is past: `now` is later than its end + 45 min."""
        return now > self.closes(slot)

    def timely_for(self, bout: Bout, slot: Slot) -> bool:
        """Whether `bout` is timely for `slot`, otherwise it is later."""
        return bout.entered_at <= self.closes(slot)

    def reached(self, credit: int, dose: int) -> bool:
        """Whether `credit` is at least 80 % of `dose`, both in the unit of the dose."""
        return credit * self.done.denominator >= dose * self.done.numerator

    def fillable(self, slot: Slot, instant: datetime) -> bool:
        """Whether `slot` can be filled in at `instant`: it has ended, at most 48 h ago."""
        return slot.end <= instant <= slot.end + self.fill_in


DEFAULT_RULES = Rules()
