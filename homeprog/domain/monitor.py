"""When staff must hear of what was not logged, not heard or not released.

Docs/METHODS.md, 'Few logged for now', 'No contact', 'Phase not released'.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction

from .adherence import DaySummary, figures, total

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


def no_contact(last_word: datetime | None, paired: datetime, waking_before: datetime) -> bool:
    """Whether no phone has spoken since the waking before the last one.

    `last_word` of any phone, `paired` of the earliest still paired, `waking_before` the waking of
    yesterday's course day. So it is told at the second waking, and over with the first word.
    """
    return max(last_word or paired, paired) < waking_before


def phase_overdue(earliest: date, told_on: date, visit: date | None, today: date) -> bool:
    """Whether the next phase should have been released by now.

    With a visit planned for it: once that day has passed. Without: on `told_on`, (3) clinic days
    after the earliest day. Never before the earliest day.
    """
    if today < earliest:
        return False
    return today > visit if visit is not None else today >= told_on
