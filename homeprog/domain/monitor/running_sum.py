"""Few logged: a running sum of what each day says for few against steady (docs/METHODS.md).

A sum of log likelihood ratios held at 0 or above: Page, Biometrika 1954; with a head start: Lucas
and Crosier, Technometrics 1982. Its limit h is worked out in `limit`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from ..adherence import Judgement, Standing
from ..errors import Invalid
from ..timetable import Slot
from .beta_binomial import log_likelihood

ACCEPTED = 0.65  # p1 as a share of the level that was accepted
WATCHABLE = (0.05, 0.95)  # an accepted level beyond is taken as this: of none or all no ratio says
KNOWN: Mapping[Standing, bool] = {
    "logged": True, "later": True, "part": False, "not_logged": False,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Levels:
    """Which two shares of slots logged are told apart, and how alike the slots of a day are."""

    p0: float = 0.85  # steady
    p1: float = 0.55  # few
    rho: float = 0.3

    def __post_init__(self) -> None:
        if not (0 < self.p1 < self.p0 < 1 and 0 <= self.rho < 1):
            raise Invalid(
                "few_logged_levels",
                "The share that must be told lies below the steady share, both between 0 and 1.",
            )


def accepted(level: float, rho: float) -> Levels:
    """What is watched for once `level` is accepted until the next visit: a fall to .65 of it."""
    least, most = WATCHABLE
    held = min(max(level, least), most)
    return Levels(held, ACCEPTED * held, rho)


@dataclass(frozen=True, slots=True)
class SumDay:
    """S over one course day."""

    began: float  # carried over from the day before, or the start
    looks: tuple[float, ...]  # after each known slot, in order; below 0 too
    reached: int  # x: slots logged or later
    known: int  # n

    @property
    def ended(self) -> float:
        """What the next day begins with."""
        return max(0.0, self.looks[-1] if self.looks else self.began)


@lru_cache(maxsize=4096)
def evidence(x: int, n: int, levels: Levels) -> float:
    """l(x, n): the log of how much likelier x of a day's n slots are at p1 than at p0."""
    few = log_likelihood(x, n, levels.p1, levels.rho)
    return few - log_likelihood(x, n, levels.p0, levels.rho)


def sum_by_day(
    days: Iterable[Sequence[bool]], levels: Levels, start: float = 0.0
) -> tuple[SumDay, ...]:
    """S on each course day since the last reset, from today's standings.

    Of each day the known slots past and begun since the reset, in the order of their ends: True
    for logged or later (`outcomes`). An unknown slot is left out and so adds nothing; a day
    without a known slot carries S on. `start` is 0, or h/2 at the course's first release of a
    phase with a leading exercise.
    """
    done: list[SumDay] = []
    for day in days:
        began = done[-1].ended if done else start
        counts = [(sum(day[:n]), n) for n in range(1, len(day) + 1)]
        looks = tuple(began + evidence(x, n, levels) for x, n in counts)
        done.append(SumDay(began, looks, sum(day), len(day)))
    return tuple(done)


def first_reached(days: Sequence[SumDay], h: float) -> int | None:
    """Which day S first came to h; None while it never has. The alert's grounds hold from it on."""
    return next((i for i, day in enumerate(days) if any(s >= h for s in day.looks)), None)


def outcomes(slots: Iterable[Slot], judged: Judgement, since: datetime) -> tuple[bool, ...]:
    """The known slots of one exercise and course day for `sum_by_day`, in order of their ends.

    Only slots past their end + 45 min and begun at or after `since`, the last reset.
    """
    counted = (slot for slot in slots if slot.start >= since and slot.key in judged.past)
    ordered = sorted(counted, key=lambda slot: (slot.end, slot.key))
    standings = [judged.standing[slot.key] for slot in ordered]
    return tuple(KNOWN[standing] for standing in standings if standing in KNOWN)
