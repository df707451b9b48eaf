"""Some of the slots of a day, spread over it: reminders thinned out, pain asked three times."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TypeVar

from .setting import Slot

T = TypeVar("T")
PAIN_A_DAY = 3  # the first, the middle and the last slot ask


def spread(items: Sequence[T], most: int) -> Sequence[T]:
    """At most `most` (2 or more) of `items`, evenly: always the first and the last of them."""
    gaps, last = most - 1, len(items) - 1
    if last < most:
        return items
    return [items[(2 * n * last + gaps) // (2 * gaps)] for n in range(most)]


def asking_pain(slots: Iterable[Slot], leading: str | None) -> frozenset[tuple[str, datetime]]:
    """Keys of the slots that ask for pain where it is asked three times a day.

    Of each day those of the leading exercise, where it has any that day, else all.
    """
    days: dict[date, list[Slot]] = {}
    for slot in slots:
        days.setdefault(slot.date, []).append(slot)
    return frozenset(slot.key for day in days.values() for slot in _of_day(day, leading))


def _of_day(day: list[Slot], leading: str | None) -> Sequence[Slot]:
    leads = [slot for slot in day if slot.exercise == leading]
    return spread(leads or day, PAIN_A_DAY)
