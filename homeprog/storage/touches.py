"""Touches: courses with something stored since their days were summed up.

An upload leaves one in the transaction that stores what was logged, so none is there without the
other. Summing up takes those that its `now` has reached: what comes meanwhile stays for the next.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import bindparam, delete, exists, insert, select
from sqlalchemy.orm import Session

from .columns import columns
from .models import Course, CourseEvent, Touch


def touch(
    db: Session, clinic_id: uuid.UUID, since: Mapping[uuid.UUID, datetime], now: datetime
) -> None:
    """Have these courses summed up by the next minute's job, each from its earliest instant on."""
    rows = [
        {"id": uuid.uuid4(), "clinic_id": clinic_id, "at": now, "course_id": key, "since": at}
        for key, at in sorted(since.items())
    ]
    if rows:
        db.flush()
        db.connection().execute(_TOUCH, rows)


def touch_open(db: Session, clinic_id: uuid.UUID, patient_id: uuid.UUID, now: datetime) -> None:
    """The same of every open course of a patient: a phone has said that nothing waits there."""
    found = columns(db, _OPEN, {"patient": patient_id})
    touch(db, clinic_id, {key: now for (key,) in found}, now)


def touched(db: Session, patient_id: uuid.UUID, now: datetime) -> list[uuid.UUID]:
    """The patient's courses that are behind what was stored by `now`."""
    rows = columns(db, _TOUCHED, {"patient": patient_id, "now": now})
    return sorted({key for (key,) in rows})


def take_touches(db: Session, course_id: uuid.UUID, now: datetime) -> datetime | None:
    """Take away the course's touches of `now` or before; the earliest instant they bear on."""
    rows = columns(db, _TAKE, {"course": course_id, "now": now})
    return min((since for (since,) in rows), default=None)


# Built once: these are asked at every upload.
_TOUCH = insert(Touch)
_OPEN = select(Course.id).where(
    Course.patient_id == bindparam("patient"),
    ~exists().where(CourseEvent.course_id == Course.id, CourseEvent.kind == "closed"),
)
_TOUCHED = (
    select(Touch.course_id)
    .join(Course, Course.id == Touch.course_id)
    .where(Course.patient_id == bindparam("patient"), Touch.at <= bindparam("now"))
)
_TAKE = (
    delete(Touch)
    .where(Touch.course_id == bindparam("course"), Touch.at <= bindparam("now"))
    .returning(Touch.since)
)
