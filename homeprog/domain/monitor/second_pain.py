"""A high pain for the second time on one day (docs/METHODS.md, 'Pain')."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ..adherence import DaySummary, total

ONE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class SecondPainRule:
    """Clinic settings, with their defaults."""

    at: int = 7  # pain, 0 to 10, that is high
    times: int = 2  # on one course day
    after_day: int = 3  # post-operative day: later than this one
    days: int = 4  # course days it is told for, today among them: over a weekend


def second_pain(
    summaries: Iterable[tuple[date, DaySummary]],
    operation: date,
    today: date,
    rule: SecondPainRule | None = None,
) -> date | None:
    """The last course day with two goes or more of pain 7 or higher, over all exercises.

    One answer a go: a second phone's entry of the same go is not a second pain.
    """
    rule = rule or SecondPainRule()
    by_day: dict[date, list[DaySummary]] = {}
    for day, summary in summaries:
        late_enough = (day - operation).days > rule.after_day
        if late_enough and today - rule.days * ONE < day <= today:
            by_day.setdefault(day, []).append(summary)
    high = [day for day, each in by_day.items() if sum(total(each).pain[rule.at :]) >= rule.times]
    return max(high, default=None)
