"""The provisional rule for few logged, until the running sum takes its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from ..adherence import DaySummary, figures, total

ONE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class FewLogged:
    """The provisional rule: how many whole days, how many known slots, and below what share."""

    days: int = 3  # whole course days before the one in progress
    known: int = 8  # known slots at least
    below: Fraction = Fraction(1, 2)  # of the known slots' dose


PROVISIONAL = FewLogged()


def few_logged(
    summaries: Iterable[tuple[date, DaySummary]],
    today: date,
    released: date | None,
    rule: FewLogged = PROVISIONAL,
) -> DaySummary | None:
    """The sum of the last days if few were logged in them, otherwise None.

    `summaries` are of the leading exercise; `released` is the course day on which the phase in
    force began, and that day itself, being no whole day of it, does not count.
    """
    first = today - rule.days * ONE
    if released is not None:
        first = max(first, released + ONE)
    window = total(each for day, each in summaries if first <= day < today)
    shown = figures(window).dose.shown
    if window.known < rule.known or shown is None:
        return None
    return window if shown < rule.below else None
