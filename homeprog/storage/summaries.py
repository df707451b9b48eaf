"""Day summaries: what each course day of each exercise came to."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import delete, func, or_, select
from sqlalchemy.orm import Session

from ..domain.adherence import DaySummary, from_row, total
from .models import Course, DaySummaryRow, Revision

Key = tuple[date, str]  # course day, exercise

LOOK_BACK = timedelta(days=7)  # how long the jobs may have stood still
SAME_DAY = timedelta(hours=1)  # a revision saved for sooner than this has its first slots laid out


@dataclass(frozen=True, slots=True)
class Day:
    """One course day of one exercise as it stood at one `now`."""

    figures: DaySummary
    standings: list[list[Any]]  # [start, end, standing, credited, asked] of each slot, in order
    next_at: datetime | None  # when a slot of it next passes its end + 45 min


def lock_course(db: Session, course: Course) -> None:
    """Make assessments of one course follow one another until the commit.

    Not the lock that a foreign key to the course takes: two uploads that have each put in bouts
    would wait for one another. SQLite has one writer at a time and needs none.
    """
    held = select(Course.id).where(Course.id == course.id)
    db.execute(held.with_for_update(key_share=True))


def summaries(
    db: Session,
    course_id: uuid.UUID,
    first: date | None = None,
    last: date | None = None,
    exercise: str | None = None,
) -> list[DaySummaryRow]:
    """The course's summaries of [first, last], by day and exercise."""
    query = select(DaySummaryRow).where(DaySummaryRow.course_id == course_id)
    if first is not None:
        query = query.where(DaySummaryRow.date >= first)
    if last is not None:
        query = query.where(DaySummaryRow.date <= last)
    if exercise is not None:
        query = query.where(DaySummaryRow.exercise == exercise)
    return list(db.scalars(query.order_by(DaySummaryRow.day, DaySummaryRow.exercise)))


def window(db: Session, course_id: uuid.UUID, exercise: str, first: date, last: date) -> DaySummary:
    """The sum of one exercise over the course days [first, last]."""
    return total(from_row(row.figures) for row in summaries(db, course_id, first, last, exercise))


def waiting_days(db: Session, course_id: uuid.UUID, now: datetime) -> set[date]:
    """Days a word from a phone may change, and days of which a slot has passed since."""
    query = select(DaySummaryRow.date).where(
        DaySummaryRow.course_id == course_id,
        or_(DaySummaryRow.waits, DaySummaryRow.next_at < now),
    )
    return set(db.scalars(query))


def newest_day(db: Session, course_id: uuid.UUID) -> date | None:
    """The last course day that has a summary."""
    return db.scalars(
        select(func.max(DaySummaryRow.date)).where(DaySummaryRow.course_id == course_id)
    ).one()


def courses_due(db: Session, now: datetime) -> list[Course]:
    """Courses in which a slot has passed, or a day has begun, since they were assessed."""
    passed = select(DaySummaryRow.course_id).where(DaySummaryRow.next_at < now)
    due = or_(Course.id.in_(passed), Course.id.in_(_begun(db, now)))
    return list(db.scalars(select(Course).where(due).order_by(Course.id)))


def _begun(db: Session, now: datetime) -> set[uuid.UUID]:
    """Courses without any summary in which a revision saved for a later day has begun.

    Every other course is woken by the `next_at` of its newest summary.
    """
    rows = db.execute(
        select(Revision.course_id, Revision.at, Revision.effective_from).where(
            Revision.effective_from.between(now - LOOK_BACK, now),
            Revision.cancelled_by_id.is_(None),
            ~select(DaySummaryRow.id).where(DaySummaryRow.course_id == Revision.course_id).exists(),
        )
    ).all()
    return {course for course, saved, starts in rows if starts and starts - saved > SAME_DAY}


def keep(
    db: Session, course: Course, days: Collection[date], fresh: Mapping[Key, Day], now: datetime
) -> None:
    """Make the summaries of `days` those of `fresh`; a day and exercise not in it has none."""
    held = select(DaySummaryRow).where(
        DaySummaryRow.course_id == course.id, DaySummaryRow.date.in_(days)
    )
    # What another connection wrote meanwhile is read again, not taken from this one's memory.
    rows = {
        (row.date, row.exercise): row
        for row in db.scalars(held.execution_options(populate_existing=True))
    }
    for key in rows.keys() - fresh.keys():
        db.delete(rows[key])
    for key, day in fresh.items():
        row = rows.get(key) or _new_row(db, course, key, now)
        row.as_of, row.next_at = now, day.next_at
        row.waits = bool(day.figures.missing or day.figures.on_time_missing)
        row.figures, row.standings = day.figures.as_row(), day.standings
    db.flush()


def _new_row(db: Session, course: Course, key: Key, now: datetime) -> DaySummaryRow:
    day, exercise = key
    row = DaySummaryRow(
        at=now, clinic_id=course.clinic_id, course_id=course.id, exercise=exercise, date=day,
        day=(day - course.day_zero).days,
    )  # fmt: skip
    db.add(row)
    return row


def all_course_ids(db: Session) -> list[uuid.UUID]:
    """Every course of every clinic, closed ones among them: a rebuild leaves none out."""
    return list(db.scalars(select(Course.id).order_by(Course.id)))


def forget(db: Session, course_id: uuid.UUID) -> None:
    """Throw away every summary of a course."""
    db.execute(delete(DaySummaryRow).where(DaySummaryRow.course_id == course_id))


def wake(db: Session, course_id: uuid.UUID, at: datetime) -> None:
    """Have the course assessed once `at` has gone by: its newest summary carries it."""
    newest = db.scalars(
        select(DaySummaryRow)
        .where(DaySummaryRow.course_id == course_id)
        .order_by(DaySummaryRow.day.desc(), DaySummaryRow.exercise)
        .limit(1)
    ).first()
    if newest is not None:
        newest.next_at = min(at, newest.next_at or at)
        db.flush()
