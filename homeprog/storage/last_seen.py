"""When a person last saw or spoke to a patient, and last examined the hand."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from ..domain.alert import Done
from .base import newest_first
from .columns import columns
from .models import (
    Alert,
    AlertEvent,
    ContactNote,
    Course,
    CourseEvent,
    Release,
    Staff,
    Visit,
    VisitEvent,
)

SPOKEN: tuple[Done, ...] = ("rang", "talked_through", "called_in")  # settled by a talk


def last_seen(db: Session, course: Course, now: datetime) -> datetime | None:
    """When a person last saw or spoke to the patient about this course, as entered."""
    row = columns(db, _LAST, {"course": course.id, "now": now})[0]
    return max((at for at in row if at is not None), default=None)


# Put together once: this is asked of every course a tick brings news of.
_COURSE: BindParameter[uuid.UUID] = bindparam("course")
_NOW: BindParameter[datetime] = bindparam("now")
_TOLD = (
    select(func.max(ContactNote.at)).where(
        ContactNote.course_id == _COURSE,
        ContactNote.how.in_(("spoke", "seen")),
        ContactNote.at <= _NOW,
    ),
    select(func.max(VisitEvent.at))
    .join(Visit, Visit.id == VisitEvent.visit_id)
    .where(Visit.course_id == _COURSE, VisitEvent.what == "kept", VisitEvent.at <= _NOW),
    select(func.max(AlertEvent.at))
    .join(Alert, Alert.id == AlertEvent.alert_id)
    .where(
        Alert.course_id == _COURSE,
        AlertEvent.what == "settled",
        AlertEvent.done.in_(SPOKEN),
        AlertEvent.at <= _NOW,
    ),
    select(func.max(Release.at)).where(
        Release.course_id == _COURSE, Release.hand_examined, Release.at <= _NOW
    ),
    select(func.max(CourseEvent.at)).where(
        CourseEvent.course_id == _COURSE,
        CourseEvent.kind == "confirmed",
        CourseEvent.at <= _NOW,
    ),
)
_LAST = select(*(each.scalar_subquery() for each in _TOLD))


@dataclass(frozen=True, slots=True)
class Examination:
    """When the hand was last examined, and by whom."""

    at: datetime
    by: str


def last_examined(db: Session, course: Course, now: datetime) -> Examination | None:
    """The last release or kept visit at which a clinician had the hand examined."""
    released = (
        select(Release.at, Staff.name)
        .join(Staff, Staff.id == Release.by_id)
        .where(Release.course_id == course.id, Release.hand_examined, Release.at <= now)
        .order_by(*newest_first(Release))
    )
    kept = (
        select(VisitEvent.at, Staff.name)
        .join(Visit, Visit.id == VisitEvent.visit_id)
        .join(Staff, Staff.id == VisitEvent.by_id)
        .where(
            Visit.course_id == course.id,
            VisitEvent.what == "kept",
            VisitEvent.figures["examined"].as_boolean(),
            VisitEvent.at <= now,
        )
        .order_by(*newest_first(VisitEvent))
    )
    found = [row for query in (released, kept) if (row := db.execute(query.limit(1)).first())]
    return max((Examination(*row) for row in found), key=lambda each: each.at, default=None)
