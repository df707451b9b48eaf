"""How logs were made, what went beyond the dose, and a rehearsal's line (docs/METHODS.md)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar, get_args

from ..bout import How
from .figures import Bounds
from .standing import Standing
from .summary import DaySummary

Key = TypeVar("Key", bound=Hashable)

WAYS: tuple[How, ...] = get_args(How)


def ways(made: Iterable[str]) -> dict[str, int]:
    """How many logs were made in each way; every way is in it, and whatever else was told."""
    counts = Counter(made)
    return {way: counts.pop(way, 0) for way in WAYS} | dict(sorted(counts.items()))


def excess_ratio(window: DaySummary) -> Bounds:
    """What was logged beyond the dose, of the dose asked.

    Lowest of all that was asked, shown of what is known. There is no highest: a phone that has
    not spoken may hold any amount.
    """
    asked, known = window.asked_dose, window.known_dose
    return Bounds(
        Fraction(window.excess, asked) if asked else None,
        Fraction(window.excess, known) if known else None,
        None,
    )


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """What became of a rehearsal's reminders. Never adherence, never an alert."""

    shown: int  # slots past whose reminder was shown
    answered: int  # of these, with a log in time
    later: int  # of these, with one entered later alone

    def __str__(self) -> str:
        said = f"rehearsal: {self.answered} of {self.shown} shown reminders answered"
        return f"{said}, {self.later} entered later"


def rehearsed(standings: Mapping[Key, Standing], reminders: Mapping[Key, str]) -> Rehearsed:
    """The rehearsal's line, from its past slots and what became of their reminders.

    Keys are slots; one whose reminder is not known to have been shown is left out.
    """
    shown = [standing for key, standing in standings.items() if reminders.get(key) == "shown"]
    asked = [standing for standing in shown if standing not in ("excused", "ahead")]
    answered = sum(standing in ("logged", "part") for standing in asked)
    return Rehearsed(len(asked), answered, asked.count("later"))
