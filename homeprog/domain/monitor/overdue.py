"""What has not come by its time: a word from any phone, the release of a phase.

Docs/METHODS.md, 'No contact', 'Phase not released'.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta


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


def not_started(second_waking: datetime, logged: bool, now: datetime) -> bool:
    """Whether nothing was logged by the second waking after the first exercise phase's release."""
    return not logged and now >= second_waking


def visit_missed(planned: date, today: date) -> bool:
    """Whether the day of a visit that was not kept, moved or cancelled is past."""
    return planned < today


def not_received(elapsed: timedelta, allowed: timedelta) -> bool:
    """Whether a change should have reached every phone: (4) clinic hours after it was saved."""
    return elapsed >= allowed
