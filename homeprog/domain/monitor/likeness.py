"""How alike the slots of one day are, estimated from a clinic's own pooled days.

The analysis-of-variance estimator of the correlation within clusters (Ridout, Demetrio and Firth,
Biometrics 1999; from memory), days being the clusters, each course with a level of its own. The
interval leaves out one course at a time (jackknife: Miller, Biometrika 1974; from memory).
Docs/METHODS.md, 'Few logged'.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from scipy.special import stdtrit

DAYS = 200  # patient-days with at least 2 known slots before anything is said
COURSES = 2  # at least, or there is no interval
SURE = 0.95  # of the interval

Day = tuple[int, int]  # x logged of n known slots


@dataclass(frozen=True, slots=True)
class Likeness:
    """An estimate of rho, with its interval."""

    rho: float  # held within 0 and 1
    least: float
    most: float
    days: int
    courses: int


@dataclass(frozen=True, slots=True)
class Parts:
    """What a course adds to the estimating equation (1 - rho) between = rho within."""

    between: float  # squares between days, beyond what chance within days explains
    within: float


def estimate_rho(courses: Sequence[Sequence[Day]]) -> Likeness | None:
    """Rho from the days of several courses, each a sequence of (x, n); None from too few.

    Give days of one steady stretch: a change of level within a course reads as likeness.
    """
    counted = [used for course in courses if len(used := [d for d in course if d[1] > 1]) > 1]
    days = sum(map(len, counted))
    if days < DAYS or len(counted) < COURSES:
        return None
    parts = [_parts(course) for course in counted]
    rho = _rho(parts)
    half = _half_width(parts, rho)
    low, mid, high = (min(max(value, 0.0), 1.0) for value in (rho - half, rho, rho + half))
    return Likeness(mid, low, high, days, len(counted))


def _parts(course: Sequence[Day]) -> Parts:
    """Of one course: E[between] = rho p(1-p) b and E[within] = (1 - rho) p(1-p) b."""
    slots = sum(n for _, n in course)
    level = sum(x for x, _ in course) / slots
    squares_within = sum(x * (n - x) / n for x, n in course)
    squares_between = sum(n * (x / n - level) ** 2 for x, n in course)
    chance = squares_within / (slots - len(course))  # of one slot, by chance alone
    spread = slots - sum(n * n for _, n in course) / slots
    return Parts(squares_between - (len(course) - 1) * chance, spread * chance)


def _rho(parts: Sequence[Parts]) -> float:
    between, within = sum(p.between for p in parts), sum(p.within for p in parts)
    return between / (between + within) if between + within else 0.0


def _half_width(parts: Sequence[Parts], rho: float) -> float:
    """Half of the interval, from the estimates with one course left out in turn."""
    k = len(parts)
    others = [_rho([*parts[:i], *parts[i + 1 :]]) for i in range(k)]
    mean = sum(others) / k
    spread = (k - 1) / k * sum((other - mean) ** 2 for other in others)
    return float(stdtrit(k - 1, (1 + SURE) / 2)) * sqrt(spread)
