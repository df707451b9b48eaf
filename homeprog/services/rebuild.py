"""Rebuild day summaries from the raw rows: the same as were kept, or something is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from ..storage.models import Course
from ..storage.summaries import forget, lock_course, summaries
from .assess_course import assess_whole_course

Kept = Mapping[tuple[date, str], tuple[Any, ...]]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What came of one course."""

    summaries: int
    changed: tuple[tuple[date, str], ...]  # day and exercise that were kept otherwise, or not


def rebuild(db: Session, course: Course, now: datetime) -> Rebuilt:
    """Throw away the course's summaries and sum up every day from its raw rows. Flushes.

    Days in which a slot has passed since they were last summed up have changed, too: let the
    minute's job run first to learn whether anything is wrong.
    """
    lock_course(db, course)
    before = _kept(db, course)
    forget(db, course.id)
    assess_whole_course(db, course, now)
    after = _kept(db, course)
    changed = [key for key in before.keys() | after.keys() if before.get(key) != after.get(key)]
    return Rebuilt(len(after), tuple(sorted(changed)))


def _kept(db: Session, course: Course) -> Kept:
    """Each summary but for when it was made."""
    return {
        (row.date, row.exercise): (row.day, row.figures, row.standings, row.next_at, row.waits)
        for row in summaries(db, course.id)
    }
