"""Rebuild day summaries from the raw rows: the same as were kept, or something is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from ..storage.models import Course
from ..storage.summaries import forget, kept, lock_course
from .assess_course import assess_whole_course


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
    before = kept(db, course.id)
    forget(db, course.id)
    assess_whole_course(db, course, now)
    after = kept(db, course.id)
    changed = [key for key in before.keys() | after.keys() if before.get(key) != after.get(key)]
    return Rebuilt(len(after), tuple(sorted(changed)))
