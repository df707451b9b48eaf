"""Mostly entered later: when what is shown was told from memory. A definition of ours."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from ..adherence import DaySummary, total

ONE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class LaterRule:
    """Clinic settings, with their defaults."""

    days: int = 7  # whole course days before the one in progress
    slots: int = 20  # known slots at least
    share: Fraction = Fraction(1, 2)  # of the shown credit; more was told later


@dataclass(frozen=True, slots=True)
class EnteredLater:
    """What share of the shown credit of a window was told later."""

    share: Fraction
    slots: int  # known ones


def entered_later(
    summaries: Iterable[tuple[date, DaySummary]], today: date, rule: LaterRule | None = None
) -> EnteredLater | None:
    """The share of the leading exercise's shown credit told later, if more than half; else None.

    Later: entered more than 45 minutes after the slot's end. Nothing is said of fewer than 20
    known slots in the last 7 whole days.
    """
    rule = rule or LaterRule()
    window = total(each for day, each in summaries if today - rule.days * ONE <= day < today)
    if window.known < rule.slots or not window.told:
        return None
    share = Fraction(window.told - window.timely, window.told)
    return EnteredLater(share, window.known) if share > rule.share else None
