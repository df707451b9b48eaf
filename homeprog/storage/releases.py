"""Releases signed ahead: which wait, and the one word that begins or ends each."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from ..domain.alert import TROUBLE, UNSETTLED
from .models import Alert, Course, CourseEvent, DailyCheck, Release

LIFTING = ("fingers_lift", "band_lifts")  # questions of the daily check


def waiting(db: Session, course_id: uuid.UUID, now: datetime) -> Release | None:
    """The course's release signed ahead that has neither begun nor lapsed; the newest."""
    return db.scalars(_waits().where(Release.course_id == course_id, Release.at <= now)).first()


def all_waiting(db: Session, now: datetime) -> list[tuple[Course, Release]]:
    """Every release that waits in an open course, of every clinic."""
    closed = select(CourseEvent.course_id).where(CourseEvent.kind == "closed")
    found = db.execute(
        select(Course, Release)
        .join(Release, Release.course_id == Course.id)
        .where(*_WAITS, Release.at <= now, Course.id.not_in(closed))
        .order_by(Release.at, Release.id)
    )
    return [(course, release) for course, release in found]


def begin(db: Session, release: Release, starts: datetime) -> bool:
    """Let it begin, unless it has begun or lapsed: of two who try at once, one does."""
    return _move(db, release, starts=starts)


def lapse(db: Session, release: Release, now: datetime) -> bool:
    """Let it lapse, likewise."""
    return _move(db, release, lapsed_at=now)


def _move(db: Session, release: Release, **moved: Any) -> bool:
    done = db.execute(
        update(Release)
        .where(Release.id == release.id, *_WAITS)
        .values(moved)
        .execution_options(synchronize_session=False)
    )
    db.refresh(release)
    return bool(done.rowcount)  # type: ignore[attr-defined]


def trouble_open(db: Session, course_id: uuid.UUID) -> bool:
    """Whether any report of trouble is unsettled, or exercise was logged while stopped."""
    query = select(Alert.id).where(
        Alert.course_id == course_id, Alert.kind.in_(TROUBLE), Alert.state.in_(UNSETTLED)
    )
    return db.scalars(query).first() is not None


def checked_since(
    db: Session, course_id: uuid.UUID, since: datetime, now: datetime
) -> tuple[bool, bool]:
    """(lifting answered 'no', splint off now and not put back) in the checks entered since."""
    rows = db.scalars(
        select(DailyCheck).where(
            DailyCheck.course_id == course_id,
            DailyCheck.entered_at >= since,
            DailyCheck.at <= now,
        )
    ).all()
    lifting = any(row.answers.get(key) == "no" for row in rows for key in LIFTING)
    return lifting, any(bool(row.details.get("off_now")) for row in rows)


_WAITS = (
    Release.not_before.is_not(None),
    Release.starts.is_(None),
    Release.lapsed_at.is_(None),
)


def _waits() -> Any:
    return select(Release).where(*_WAITS).order_by(Release.at.desc(), Release.id)
