"""Day summaries: what each course day of each exercise came to."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, cast

from sqlalchemy import Executable, Table, bindparam, delete, func, insert, or_, select, update
from sqlalchemy.orm import Session

from ..domain.adherence import DaySummary, from_row, total
from .columns import columns
from .models import Course, DaySummaryRow, Revision, Touch

Key = tuple[date, str]  # course day, exercise

LOOK_BACK = timedelta(days=7)  # how long the jobs may have stood still
SAME_DAY = timedelta(hours=1)  # a revision saved for sooner than this has its first slots laid out


@dataclass(frozen=True, slots=True)
class Day:
    """One course day of one exercise as it stood at one `now`."""

    figures: DaySummary
    standings: list[list[Any]]  # [start, end, standing, credited, asked] of each slot, in order
    next_at: datetime | None  # when a slot of it next passes its end + 45 min
    waits: bool  # a word from a phone may change it


def lock_course(db: Session, course: Course) -> None:
    """Make assessments of one course follow one another until the commit.

    Not the lock that a foreign key to the course takes: two uploads that have each put in bouts
    would wait for one another. SQLite has one writer at a time and needs none.
    """
    if db.get_bind().dialect.name != "sqlite":
        columns(db, _LOCK, {"course": course.id})


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
    query = query.order_by(DaySummaryRow.day, DaySummaryRow.exercise)
    # `keep` writes past the session's memory of rows: what stands in the database is read.
    return list(db.scalars(query.execution_options(populate_existing=True)))


def window(db: Session, course_id: uuid.UUID, exercise: str, first: date, last: date) -> DaySummary:
    """The sum of one exercise over the course days [first, last]."""
    return total(from_row(row.figures) for row in summaries(db, course_id, first, last, exercise))


def open_days(db: Session, course_id: uuid.UUID, now: datetime) -> set[date]:
    """Days a word from a phone may change or of which a slot has passed since; and the newest."""
    return {day for (day,) in columns(db, _OPEN, {"course": course_id, "now": now})}


def kept(db: Session, course_id: uuid.UUID) -> dict[Key, tuple[Any, ...]]:
    """Everything that every summary of a course says, but for when it was made."""
    rows = columns(db, _HELD, {"course": course_id, "first": date.min, "last": date.max})
    return {(day, exercise): tuple(said) for _, day, exercise, *said in rows}


def touch_clinic(db: Session, clinic_id: uuid.UUID, now: datetime) -> None:
    """Have every summary of a clinic made anew by the next minute's job."""
    db.execute(update(_TABLE).where(_TABLE.c.clinic_id == clinic_id).values(next_at=now))


def courses_due(db: Session, now: datetime) -> list[Course]:
    """Courses touched, or in which a slot has passed or a day begun, since they were assessed."""
    passed = select(DaySummaryRow.course_id).where(DaySummaryRow.next_at < now)
    touched = select(Touch.course_id).where(Touch.at <= now)
    due = or_(Course.id.in_(passed), Course.id.in_(touched), Course.id.in_(_begun(db, now)))
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
    db: Session,
    course: Course,
    days: tuple[date, date],
    fresh: Mapping[Key, Day],
    now: datetime,
) -> None:
    """Make the summaries of [first, last] those of `fresh`; a day and exercise not in it has none.

    It writes past the session's memory of rows.
    """
    rows = columns(db, _HELD, {"course": course.id, "first": days[0], "last": days[1]})
    row = {(each.date, each.exercise): each.id for each in rows}
    said = {(each.date, each.exercise): _said(each) for each in rows}
    told = {key: _told(course, key, day) for key, day in fresh.items()}
    both = row.keys() & told.keys()
    changed = {key for key in both if said[key] != told[key]}
    _write(db, _DROP, [{"row": row[key]} for key in row.keys() - told.keys()])
    _write(db, _STANDS, [{"row": row[key], "now": now} for key in both - changed])
    _write(db, _CHANGE, [{"row": row[key], "now": now} | told[key] for key in changed])
    _write(db, _ADD, [_new(course, key, now) | told[key] for key in told.keys() - row.keys()])


def _said(row: Any) -> dict[str, Any]:
    return {name: getattr(row, name) for name in _SAYS}


def _told(course: Course, key: Key, day: Day) -> dict[str, Any]:
    """What a row says of a summary: `_SAYS`."""
    return {
        "day": (key[0] - course.day_zero).days,
        "next_at": day.next_at,
        "waits": day.waits,
        "figures": day.figures.as_row(),
        "standings": day.standings,
    }


def _new(course: Course, key: Key, now: datetime) -> dict[str, Any]:
    day, exercise = key
    return {
        "id": uuid.uuid4(), "at": now, "as_of": now, "clinic_id": course.clinic_id,
        "course_id": course.id, "exercise": exercise, "date": day,
    }  # fmt: skip


def _write(db: Session, statement: Executable, rows: list[dict[str, Any]]) -> None:
    if rows:
        db.connection().execute(statement, rows)


def all_course_ids(db: Session) -> list[uuid.UUID]:
    """Every course of every clinic, closed ones among them: a rebuild leaves none out."""
    return list(db.scalars(select(Course.id).order_by(Course.id)))


def forget(db: Session, course_id: uuid.UUID) -> None:
    """Throw away every summary of a course."""
    db.execute(delete(DaySummaryRow).where(DaySummaryRow.course_id == course_id))


def wake(db: Session, course_id: uuid.UUID, at: datetime) -> None:
    """Have the course assessed once `at` has gone by: its newest summary carries it."""
    _write(db, _WAKE, [{"course": course_id, "next": at}])


# Built once: these are asked at every upload.
_TABLE = cast(Table, DaySummaryRow.__table__)
_SAYS = ("next_at", "waits", "figures", "standings", "day")
_OF_COURSE = _TABLE.c.course_id == bindparam("course")
_ONE_ROW = _TABLE.c.id == bindparam("row")
_LOCK = select(Course.id).where(Course.id == bindparam("course")).with_for_update(key_share=True)
_NEWEST_DAY = select(func.max(_TABLE.c.date)).where(_OF_COURSE).scalar_subquery()
_OPEN = select(_TABLE.c.date).where(
    _OF_COURSE,
    or_(_TABLE.c.waits, _TABLE.c.next_at < bindparam("now"), _TABLE.c.date == _NEWEST_DAY),
)
_NEWEST = (
    select(_TABLE.c.id)
    .where(_OF_COURSE)
    .order_by(_TABLE.c.day.desc(), _TABLE.c.exercise)
    .limit(1)
    .scalar_subquery()
)
_HELD = select(
    _TABLE.c.id, _TABLE.c.date, _TABLE.c.exercise, *(_TABLE.c[name] for name in _SAYS)
).where(_OF_COURSE, _TABLE.c.date.between(bindparam("first"), bindparam("last")))
_DROP = delete(_TABLE).where(_ONE_ROW)
_ADD = insert(_TABLE)
_STANDS = update(_TABLE).where(_ONE_ROW).values(as_of=bindparam("now"))
_CHANGE = _STANDS.values({name: bindparam(name) for name in _SAYS})
_WAKE = (
    update(_TABLE)
    .where(
        _TABLE.c.id == _NEWEST,
        or_(_TABLE.c.next_at.is_(None), _TABLE.c.next_at > bindparam("next")),
    )
    .values(next_at=bindparam("next"))
)
