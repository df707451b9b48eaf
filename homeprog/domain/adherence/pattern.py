"""Adherence by hour of day and by weekday, in slots (docs/METHODS.md, 'Hours and weekdays')."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TypeVar

from .figures import Bounds
from .standing import Standing

Group = TypeVar("Group", int, date)


@dataclass(frozen=True, slots=True)
class SlotSeen:
    """One slot as its day's summary has it."""

    date: date  # of its course day
    hour: int  # local hour in which it begins; 24 and more: after midnight, still that day
    standing: Standing
    past: bool  # past its end + 45 min when the day was summed up
    may_grow: bool = False  # no contact since: a phone may still hold more for it


@dataclass(frozen=True, slots=True)
class Share:
    """Slots of one hour or weekday, past ones only."""

    logged: int = 0
    later: int = 0
    known: int = 0
    unknown: int = 0
    may_become: int = 0  # known, not reached, and a phone may still hold the rest
    not_asked: int = 0

    @property
    def slots(self) -> int:
        """Slots asked for."""
        return self.known + self.unknown

    @property
    def bounds(self) -> Bounds:
        """Share of slots logged: timely alone, later as told, with all that may still come."""
        reached = self.logged + self.later
        asked = self.slots
        return Bounds(
            Fraction(self.logged, asked) if asked else None,
            Fraction(reached, self.known) if self.known else None,
            Fraction(reached + self.may_become + self.unknown, asked) if asked else None,
        )


def share(slots: Iterable[SlotSeen]) -> Share:
    """Sum up slots; those not past yet are left out."""
    past = [slot for slot in slots if slot.past]
    asked = [slot for slot in past if slot.standing != "excused"]
    known = [slot for slot in asked if slot.standing != "unknown"]
    return Share(
        logged=sum(slot.standing == "logged" for slot in known),
        later=sum(slot.standing == "later" for slot in known),
        known=len(known),
        unknown=len(asked) - len(known),
        may_become=sum(slot.standing == "part" and slot.may_grow for slot in known),
        not_asked=len(past) - len(asked),
    )


def by_hour(slots: Iterable[SlotSeen]) -> dict[int, Share]:
    """Local hour of the slot's start -> its slots, waking first, after midnight last."""
    return _by(slots, lambda slot: slot.hour)


def by_weekday(slots: Iterable[SlotSeen]) -> dict[int, Share]:
    """Weekday of the course day (Monday 0) -> its slots."""
    return _by(slots, lambda slot: slot.date.weekday())


def by_day(slots: Iterable[SlotSeen]) -> dict[date, Share]:
    """Course day -> its slots."""
    return _by(slots, lambda slot: slot.date)


def _by(slots: Iterable[SlotSeen], group_of: Callable[[SlotSeen], Group]) -> dict[Group, Share]:
    groups: dict[Group, list[SlotSeen]] = {}
    for slot in slots:
        if slot.past:
            groups.setdefault(group_of(slot), []).append(slot)
    return {group: share(groups[group]) for group in sorted(groups)}
