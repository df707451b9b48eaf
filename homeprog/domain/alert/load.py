"""How a clinic lives with its alerts: how many there are, and how soon they are taken up."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

PATIENTS = 30  # what the load is told for
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Taken:
    """Alerts of one level. A median of those taken up says nothing of those that wait."""

    count: int  # taken up
    median: timedelta | None  # of clinic hours from the start of the clock
    waiting: int  # still open


def taken(waits: Sequence[timedelta], waiting: int) -> Taken:
    """`waits` of those taken up."""
    seconds = [each.total_seconds() for each in waits]
    return Taken(len(waits), timedelta(seconds=median(seconds)) if seconds else None, waiting)


def patient_days(
    stays: Iterable[tuple[datetime, datetime | None]], since: datetime, until: datetime
) -> float:
    """Days that courses were open in [since, until); a stay without an end goes on."""
    total = timedelta()
    for begins, ends in stays:
        total += max(timedelta(), min(ends or until, until) - max(begins, since))
    return total / DAY


def load(alerts: int, clinic_days: int, days_of_patients: float, days: float) -> float | None:
    """Alerts a clinic day for every 30 patients; None without clinic days or patients."""
    if not clinic_days or not days_of_patients or not days:
        return None
    return alerts / clinic_days / (days_of_patients / days / PATIENTS)
