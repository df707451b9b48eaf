"""Visits: the next one of a course, with its date and the stage it is for."""

from __future__ import annotations

import uuid
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from .base import newest_first
from .models import Course, Visit, VisitEvent

OVER = ("kept", "moved", "missed", "cancelled")


def next_visit(db: Session, course: Course, now: datetime) -> Visit | None:
    """The visit entered last, unless it was kept, moved, missed or cancelled; its day may be past.

    A course has one next visit: entering another takes the place of the one before.
    """
    newest = db.scalars(
        select(Visit)
        .where(Visit.clinic_id == course.clinic_id, Visit.course_id == course.id, Visit.at <= now)
        .order_by(*newest_first(Visit))
        .limit(1)
    ).first()
    if newest is None:
        return None
    over = select(VisitEvent.id).where(
        VisitEvent.visit_id == newest.id, VisitEvent.what.in_(OVER), VisitEvent.at <= now
    )
    return None if db.scalars(over.limit(1)).first() else newest


def visit_ahead(db: Session, course: Course, today: date, now: datetime) -> Visit | None:
    """The next visit, if its day is today or later."""
    found = next_visit(db, course, now)
    return found if found and found.planned >= today else None


def kept_since(db: Session, course_id: uuid.UUID, since: datetime, now: datetime) -> bool:
    """Whether a visit of the course was kept after `since`."""
    query = (
        select(VisitEvent.id)
        .join(Visit, Visit.id == VisitEvent.visit_id)
        .where(
            Visit.course_id == course_id,
            VisitEvent.what == "kept",
            VisitEvent.at > since,
            VisitEvent.at <= now,
        )
    )
    return db.scalars(query.limit(1)).first() is not None
