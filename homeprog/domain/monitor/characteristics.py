"""What the rules do at each true level: how often they ring falsely, how soon they ring rightly.

Exact, by chains; a part day is counted whole. Docs/METHODS.md, 'Operating characteristics'.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import ceil

import numpy as np

from .beta_binomial import Array, pmf
from .chain import Chain, starting_at
from .limit import HEAD_START, Threshold, grid, sum_chain

LEVELS = (0.95, 0.90, 0.85, 0.80, 0.75, 0.70, 0.60, 0.50, 0.40, 0.30, 0.20)  # true shares logged
BY_HAND = Fraction(4, 5)  # what people hold the mean of three days against
FIRST_DAYS = 7
LONG = 60  # days after which a quiet stretch no longer remembers how it began


@dataclass(frozen=True, slots=True)
class Row:
    """One true level: patient-days, a part day counted whole."""

    level: float
    run: float  # mean to an alarm at this level, from S = 0
    run_by_hand: float  # the same of the 3-day mean under 80 %
    delay: int | None  # median to the alarm after a fall to here; None where nothing has fallen
    delay_by_hand: int | None


@lru_cache(maxsize=64)
def operating(limit: Threshold, rho: float) -> tuple[Row, ...]:
    """The rule and the 3-day mean at each true level, for patients of likeness `rho`.

    A fall is from the limit's own p0, at a waking. The running sum then stands at 0, its slowest
    start; the two days before are of p0 and the 3-day mean has been quiet.
    """
    return tuple(_row(limit, level, rho) for level in LEVELS)


def _row(limit: Threshold, level: float, rho: float) -> Row:
    slots, steady = limit.slots_a_day, limit.levels.p0
    ours = whole_days(limit, level, rho)
    by_hand = three_day_mean(slots, level, rho)
    at_zero = starting_at(grid(limit.h), 0.0)
    fallen = level < steady
    return Row(
        level,
        ours.mean_run(at_zero),
        2 + by_hand.mean_run(two_days(slots, level, rho)),
        ours.median_run(at_zero) if fallen else None,
        by_hand.median_run(quiet_by_hand(slots, steady, rho)) if fallen else None,
    )


def whole_days(limit: Threshold, level: float, rho: float) -> Chain:
    """The running sum's chain with the day of the alarm counted whole."""
    return sum_chain(limit.h, limit.slots_a_day, limit.levels, level, rho, whole_days=True)


def false_at_first(limit: Threshold, rho: float, head_start: bool) -> float:
    """The chance of a false alarm in the first 7 days at p0, with or without the head start."""
    start = starting_at(grid(limit.h), HEAD_START * limit.h if head_start else 0.0)
    return whole_days(limit, limit.levels.p0, rho).rung_within(start, FIRST_DAYS)


def delay_after_release(limit: Threshold, level: float, rho: float) -> int:
    """Median whole days to the alarm at `level` from the limit's own first start."""
    start = starting_at(grid(limit.h), limit.first_start)
    return whole_days(limit, level, rho).median_run(start)


def delay_from_accepted(limit: Threshold, level: float, rho: float) -> int:
    """Median whole days to the alarm after a fall from the limit's p0 to `level`, from S = 0."""
    return whole_days(limit, level, rho).median_run(starting_at(grid(limit.h), 0.0))


@lru_cache(maxsize=256)
def three_day_mean(slots: int, level: float, rho: float, under: Fraction = BY_HAND) -> Chain:
    """The rule used by hand: the mean of the last 3 whole days is under 80 %, looked at each night.

    A state is what was logged on the two days before, the older first.
    """
    counts = range(slots + 1)
    chance = [pmf(x, slots, level, rho) for x in counts]
    enough = ceil(under * 3 * slots)
    moves = np.zeros(((slots + 1) ** 2,) * 2)
    for older, newer, today in product(counts, repeat=3):
        if older + newer + today >= enough:
            moves[older * len(counts) + newer, newer * len(counts) + today] = chance[today]
    return Chain(moves, np.ones(len(moves)))


def two_days(slots: int, level: float, rho: float) -> Array:
    """The states of the 3-day mean after two days at a level."""
    chance = [pmf(x, slots, level, rho) for x in range(slots + 1)]
    return np.outer(chance, chance).ravel()


def quiet_by_hand(slots: int, level: float, rho: float, under: Fraction = BY_HAND) -> Array:
    """The same after a long stretch at a level in which it did not ring."""
    return three_day_mean(slots, level, rho, under).settled(two_days(slots, level, rho), LONG)
