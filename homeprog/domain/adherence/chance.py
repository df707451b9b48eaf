"""Whether there is enough to say: the part that chance plays (docs/METHODS.md, 'Chance').

Never shown in the place of the bounds, which say what is not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from statistics import NormalDist
from typing import Literal

Verdict = Literal["above", "below", "not_enough"]
Day = tuple[int, int]  # (slots logged or later, known slots) of one course day


@dataclass(frozen=True, slots=True)
class ChanceRule:
    """Clinic settings, with their defaults."""

    rho: float = 0.3  # how alike the slots of one day are
    level: float = 0.9  # of the interval
    against: Fraction = Fraction(4, 5)  # the share it must lie on one side of


DEFAULT_CHANCE = ChanceRule()


@dataclass(frozen=True, slots=True)
class Interval:
    """An interval of shares of 1, both ends included."""

    low: float
    high: float


def wilson(reached: float, known: float, level: float) -> Interval:
    """Wilson's interval for a share; `known` may be a worth that is no whole number.

    Without anything known it is [0, 1]. (Wilson 1927; as in Newcombe, Stat Med 1998.)
    """
    if known <= 0:
        return Interval(0.0, 1.0)
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, square = reached / known, z * z
    centre = share + square / (2 * known)
    half = z * sqrt(share * (1 - share) / known + square / (4 * known * known))
    scale = 1 + square / known
    return Interval(max(0.0, (centre - half) / scale), min(1.0, (centre + half) / scale))


def design_effect(slots: int, rho: float) -> float:
    """By how much `slots` slots of one day say less than as many independent ones."""
    return 1 + (slots - 1) * rho


def worth(days: Iterable[Day], rho: float) -> tuple[float, float]:
    """(reached, known) in independent slots: each day's divided by its design effect."""
    known_days = [(x, n, design_effect(n, rho)) for x, n in days if n > 0]
    return sum(x / effect for x, _, effect in known_days), sum(n / e for _, n, e in known_days)


def chance_interval(days: Iterable[Day], rule: ChanceRule = DEFAULT_CHANCE) -> Interval:
    """The interval for the share of slots logged, slots of one day being alike."""
    return wilson(*worth(days, rule.rho), rule.level)


def enough_to_say(days: Sequence[Day], rule: ChanceRule = DEFAULT_CHANCE) -> Verdict:
    """Whether the interval lies wholly above or wholly below 80 %."""
    found = chance_interval(days, rule)
    if found.low > rule.against:
        return "above"
    return "below" if found.high < rule.against else "not_enough"
