"""Pain by whole course days, over all exercises (docs/METHODS.md, 'Pain').

A pain is a whole number from 0 to 10; skipped is unknown, never 0. Medians are exact.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import atanh, sqrt
from statistics import NormalDist, median

from .adherence import DaySummary, total

ONE = timedelta(days=1)
REAL_POINTS = 2
REAL_SHARE = Fraction(3, 10)
FEWEST_PAIRS = 10  # of days, for a relation
RELATION_LEVEL = 0.9  # of its interval
ENOUGH_ENTRIES = 2  # answered entries that make a daily pain, where not all were answered


@dataclass(frozen=True, slots=True)
class PainRule:
    """Clinic settings, with their defaults."""

    base_first: int = 2  # days after a phase's release of which the baseline is made
    base_last: int = 4
    last: int = 2  # daily pains that are compared with the baseline
    oldest: int = 4  # days before today; an older one says nothing of now
    over: int = 2  # points above the baseline
    floor: int = 4  # a lower pain is no rise
    average: int = 5  # 'average pain since yesterday' that is high
    average_days: int = 2  # days running
    average_after: int = 5  # post-operative days: later than this one

    def days(self, released: date) -> tuple[date, date]:
        """The first and the last day of the baseline of a phase released on `released`."""
        return released + self.base_first * ONE, released + self.base_last * ONE


DEFAULT_RULE = PainRule()


@dataclass(frozen=True, slots=True)
class Rise:
    """A rise of pain and what it is made of."""

    baseline: Fraction
    now: Fraction  # median of the last daily pains
    days: tuple[date, ...]  # the days these are of


def daily_pain(day: DaySummary) -> Fraction | None:
    """The median of one course day's answers, given as the sum of its exercises' summaries.

    None unless at least 2 entries, or all that were asked, were answered.
    """
    twice = day.pain_median_doubled
    enough = day.pain_answers >= min(ENOUGH_ENTRIES, day.pain_asked)
    return Fraction(twice, 2) if twice is not None and enough else None


def daily_pains(summaries: Iterable[tuple[date, DaySummary]], before: date) -> dict[date, Fraction]:
    """The daily pain of each day before `before`, ascending; days without one are left out.

    `summaries` are of every exercise; pass the course day in progress, which is no whole day.
    """
    by_day: dict[date, list[DaySummary]] = {}
    for day, summary in summaries:
        if day < before:
            by_day.setdefault(day, []).append(summary)
    pains = ((day, daily_pain(total(each))) for day, each in sorted(by_day.items()))
    return {day: pain for day, pain in pains if pain is not None}


def baseline(
    daily: Mapping[date, Fraction],
    released: date | None,
    today: date,
    rule: PainRule = DEFAULT_RULE,
) -> Fraction | None:
    """The median of the daily pains on days 2 to 4 after the phase was released.

    None without one of these, or before they are over; `released` is the course day of the
    release of the phase in force, None where no release began it.
    """
    if released is None:
        return None
    first, last = rule.days(released)
    pains = [pain for day, pain in daily.items() if first <= day <= last]
    return median(pains) if pains and today > last else None


def recent(
    daily: Mapping[date, Fraction], today: date, rule: PainRule = DEFAULT_RULE
) -> tuple[date, ...]:
    """The days of the last 2 daily pains; empty if one is missing or older than 4 days."""
    days = sorted(day for day in daily if day < today)[-rule.last :]
    fresh = len(days) == rule.last and today - days[0] <= rule.oldest * ONE
    return tuple(days) if fresh else ()


def rise(
    daily: Mapping[date, Fraction],
    released: date | None,
    today: date,
    rule: PainRule = DEFAULT_RULE,
) -> Rise | None:
    """A median of the last 2 daily pains of at least baseline + 2, and at least 4.

    None too without a baseline or without 2 daily pains of the last 4 days: nothing is said then.
    """
    base = baseline(daily, released, today, rule)
    days = recent(daily, today, rule)
    if base is None or not days:
        return None
    now = median(daily[day] for day in days)
    return Rise(base, now, days) if now >= base + rule.over and now >= rule.floor else None


def average_pain_high(
    averages: Mapping[date, int | None],
    operation: date,
    today: date,
    rule: PainRule = DEFAULT_RULE,
) -> tuple[date, ...]:
    """The last 2 days answered, if both run on and say 5 or more; otherwise empty.

    `averages` are the answers to 'your average pain since yesterday' by course day, None skipped.
    Only days after post-operative day 5 count, and none older than 4 days. (5 or more on 2 days:
    Moseley and others, J Pain 2014, in week 1 after a wrist fracture.)
    """
    answered = sorted(day for day, pain in averages.items() if pain is not None and day <= today)
    days = answered[-rule.average_days :]
    run_on = len(days) == rule.average_days and days[-1] - days[0] == (len(days) - 1) * ONE
    if not run_on or (days[0] - operation).days <= rule.average_after:
        return ()
    high = all(_high(averages[day], rule) for day in days)
    return tuple(days) if high and today - days[0] <= rule.oldest * ONE else ()


def _high(pain: int | None, rule: PainRule) -> bool:
    return pain is not None and pain >= rule.average


@dataclass(frozen=True, slots=True)
class Change:
    """From the baseline to the last daily pains."""

    baseline: Fraction
    now: Fraction
    real: bool  # a change of 2 points, or of 30 % of the baseline

    @property
    def points(self) -> Fraction:
        """Points up (positive) or down."""
        return self.now - self.baseline

    @property
    def share(self) -> Fraction | None:
        """Up or down as a share of the baseline; None of a baseline of 0."""
        return self.points / self.baseline if self.baseline else None


def change(
    daily: Mapping[date, Fraction],
    released: date | None,
    today: date,
    rule: PainRule = DEFAULT_RULE,
) -> Change | None:
    """The change since the baseline, and whether patients call such a one real.

    2 points or 30 %: Farrar and others, Pain 2001, falls of chronic pain. Shown, never an alert.
    """
    base, days = baseline(daily, released, today, rule), recent(daily, today, rule)
    if base is None or not days:
        return None
    now = median(daily[day] for day in days)
    moved = abs(now - base)
    return Change(base, now, moved >= REAL_POINTS or (moved > 0 and moved >= REAL_SHARE * base))


@dataclass(frozen=True, slots=True)
class Relation:
    """How pain goes with the dose logged on the day after."""

    pairs: int
    rank: float | None  # Spearman's rank correlation, -1 to 1; None where one of the two is even
    enough: bool  # whether it is enough to say


def relation(daily: Mapping[date, Fraction], shown: Mapping[date, Fraction]) -> Relation:
    """The rank correlation of a day's pain with the shown dose figure of the day after.

    Enough to say with at least 10 pairs and a 90 % interval that leaves out 0. It is no proof
    that one makes the other: both change as the weeks go by.
    """
    pairs = [(pain, shown[day + ONE]) for day, pain in daily.items() if day + ONE in shown]
    rank = _rank_correlation(pairs)
    return Relation(len(pairs), rank, _leaves_out_zero(rank, len(pairs)))


def _rank_correlation(pairs: Sequence[tuple[Fraction, Fraction]]) -> float | None:
    """Pearson's correlation of the ranks, equals sharing theirs (Spearman 1904)."""
    if len(pairs) < 2:
        return None
    ours = _ranks([one for one, _ in pairs])
    theirs = _ranks([other for _, other in pairs])
    middle = Fraction(len(pairs) + 1, 2)
    spread = sum((a - middle) ** 2 for a in ours) * sum((b - middle) ** 2 for b in theirs)
    together = sum((a - middle) * (b - middle) for a, b in zip(ours, theirs, strict=True))
    return float(together) / sqrt(spread) if spread else None


def _ranks(values: Sequence[Fraction]) -> list[Fraction]:
    """Rank of each value, from 1; equal values share the mean of theirs."""
    ordered = sorted(values)
    places = {value: bisect_left(ordered, value) + bisect_right(ordered, value) for value in values}
    return [Fraction(places[value] + 1, 2) for value in values]


def _leaves_out_zero(rank: float | None, pairs: int) -> bool:
    """By Fisher's z with the variance of Bonett and Wright, Psychometrika 2000."""
    if rank is None or pairs < FEWEST_PAIRS:
        return False
    if abs(rank) == 1:
        return True
    half = NormalDist().inv_cdf((1 + RELATION_LEVEL) / 2) * sqrt((1 + rank**2 / 2) / (pairs - 3))
    return abs(atanh(rank)) > half
