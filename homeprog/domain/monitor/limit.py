"""The limit h of the running sum, from how rare a false alarm must be; by an exact chain.

Docs/METHODS.md, 'Few logged'.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .beta_binomial import Array, next_slot
from .chain import Chain, moves, starting_at
from .running_sum import Levels, evidence

VERSION = "few logged 1"  # changes with the rule, or with how h is worked out
POINTS = 401  # of the grid of S from 0 to h; the mean run is then within 0.3 % of its limit
HUNDREDTHS = 100  # h is the smallest whole hundredth that is rare enough
HEAD_START = 0.5  # of h


@dataclass(frozen=True, slots=True)
class Threshold:
    """A limit, and what it was worked out from."""

    h: float
    slots_a_day: int
    levels: Levels
    false_in_days: int
    head_start: bool
    mean_run: float  # patient-days to a false alarm at p0, from the head start if there is one
    version: str = VERSION

    @property
    def first_start(self) -> float:
        """S at the course's first release of a phase with a leading exercise; later it is 0."""
        return HEAD_START * self.h if self.head_start else 0.0


@lru_cache(maxsize=256)
def threshold(
    slots_a_day: int, p0: float, p1: float, rho: float, false_in_days: int, head_start: bool
) -> Threshold:
    """h for 'at most one false alarm in `false_in_days` patient-days at p0', a look at every slot.

    `slots_a_day` of the weekday with most. The run is counted in parts of a day, which is the
    stricter way. Raises Invalid for levels that cannot be told apart.
    """
    levels = Levels(p0, p1, rho)
    start = HEAD_START if head_start else 0.0

    def run(hundredths: int) -> float:
        return mean_run(hundredths / HUNDREDTHS, slots_a_day, levels, p0, rho, start)

    most = HUNDREDTHS
    while run(most) < false_in_days:
        most *= 2
    least = 0
    while most - least > 1:
        middle = (least + most) // 2
        least, most = (middle, most) if run(middle) < false_in_days else (least, middle)
    h = most / HUNDREDTHS
    return Threshold(h, slots_a_day, levels, false_in_days, head_start, run(most))


def mean_run(
    h: float, slots_a_day: int, levels: Levels, p: float, rho: float, start: float = 0.0
) -> float:
    """Mean patient-days, in parts, to an alarm of a patient who steadily logs a share p.

    `rho` is the patient's own; that in `levels` the rule's. `start` is a share of h.
    """
    chain = sum_chain(h, slots_a_day, levels, p, rho)
    return chain.mean_run(starting_at(grid(h), start * h))


def grid(h: float) -> Array:
    """The values of S at a day's start that the chain is worked out for."""
    return np.linspace(0.0, h, POINTS)


def sum_chain(
    h: float, slots_a_day: int, levels: Levels, p: float, rho: float, whole_days: bool = False
) -> Chain:
    """The chain of S from day to day for a patient of share p and likeness rho.

    `whole_days` counts the day of the alarm whole; otherwise up to the slot that rang.
    """
    points = grid(h)
    weight, length = _through_the_day(points, h, slots_a_day, levels, p, rho)
    end_of_day = [evidence(x, slots_a_day, levels) for x in range(slots_a_day + 1)]
    landing = np.maximum(0.0, points[:, None] + np.array(end_of_day))
    step = np.ones(POINTS) if whole_days else length
    return Chain(moves(points, landing, weight), step)


def _through_the_day(
    points: Array, h: float, slots: int, levels: Levels, p: float, rho: float
) -> tuple[Array, Array]:
    """Probability of x slots logged and no alarm at the day's end, and the mean part of it used."""
    weight = np.zeros((len(points), slots + 1))
    weight[:, 0] = 1.0
    length = np.zeros(len(points))
    for n in range(slots):
        length += weight.sum(axis=1) / slots
        logged, missed = next_slot(weight, n, p, rho)
        weight = logged + missed
        looks = np.full(slots + 1, -np.inf)  # more than n + 1 slots cannot be logged yet
        looks[: n + 2] = [evidence(x, n + 1, levels) for x in range(n + 2)]
        weight[points[:, None] + looks >= h] = 0.0
    return weight, length
