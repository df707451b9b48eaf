"""More logged than was asked for (docs/METHODS.md, 'Excess')."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from ..bout import Bout
from ..credit import Credit, Key

ONE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ExcessRule:
    """Clinic settings, with their defaults."""

    share: Fraction = Fraction(5, 4)  # of the day's dose; more is too much
    days: int = 2  # days over it
    of: int = 7  # of so many course days, today among them
    slot: Fraction = Fraction(2)  # times a slot's dose; more is told at once


@dataclass(frozen=True, slots=True)
class LoggedDay:
    """What one course day of one exercise asked for, all its slots together, and what was logged.

    Excused slots ask for nothing. All in the exercise's unit.
    """

    date: date
    asked: int
    credited: int
    excess: int

    @property
    def share(self) -> Fraction | None:
        """Logged out of asked; None where nothing was asked for."""
        return Fraction(self.credited + self.excess, self.asked) if self.asked else None


def days_over(
    days: Iterable[LoggedDay], today: date, rule: ExcessRule | None = None
) -> tuple[LoggedDay, ...]:
    """The days of the last 7 over 125 %, if there are 2 or more; otherwise empty."""
    rule = rule or ExcessRule()
    looked = [day for day in days if today - rule.of * ONE < day.date <= today]
    over = tuple(day for day in looked if day.share is not None and day.share > rule.share)
    return over if len(over) >= rule.days else ()


def slots_over(
    doses: Mapping[Key, int], bouts: Iterable[Bout], credit: Credit, rule: ExcessRule | None = None
) -> dict[Key, int]:
    """Slot -> what was logged in it, of the slots over twice their dose.

    `doses` are those of the slots asked for. A go that another phone's log of it counts for, and
    a bout made under an older plan, are no excess.
    """
    rule = rule or ExcessRule()
    sums: dict[Key, int] = {}
    for bout in bouts:
        place = credit.place.get(bout.id)
        if place is not None and not bout.excess_exempt:
            sums[place] = sums.get(place, 0) + bout.amount
    return {key: n for key, n in sums.items() if key in doses and n > rule.slot * doses[key]}
