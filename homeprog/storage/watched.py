"""Which courses the watch looks at, and what it asks of phones."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, exists, func, or_, select
from sqlalchemy.orm import Session

from .models import ContactMarkRow, Course, CourseEvent, DaySummaryRow, Device

QUIET = timedelta(hours=12)  # a phone that spoke within this has spoken since yesterday's waking
LATELY = timedelta(minutes=2)  # summaries written within this are looked at


def closed_courses(db: Session, course_ids: Collection[uuid.UUID]) -> list[Course]:
    """Those of these courses that are closed."""
    query = select(Course).where(Course.id.in_(course_ids), _closed()).order_by(Course.id)
    return list(db.scalars(query)) if course_ids else []


def suspects(db: Session, clinic_id: uuid.UUID, now: datetime) -> set[uuid.UUID]:
    """Courses that the last minutes can have changed: a phone gone quiet, a summary written."""
    spoke = exists().where(
        ContactMarkRow.device_id == Device.id, ContactMarkRow.at.between(now - QUIET, now)
    )
    quiet = (
        select(Course.id)
        .join(Device, Device.patient_id == Course.patient_id)
        .where(
            Course.clinic_id == clinic_id,
            Device.at <= now - QUIET,
            or_(Device.ended_at.is_(None), Device.ended_at > now),
            ~spoke,
        )
    )
    written = select(DaySummaryRow.course_id).where(
        DaySummaryRow.clinic_id == clinic_id, DaySummaryRow.as_of > now - LATELY
    )
    return set(db.scalars(quiet)) | set(db.scalars(written.distinct()))


def to_watch(
    db: Session,
    clinic_id: uuid.UUID,
    suspected: Collection[uuid.UUID] | None,
    on_record: Mapping[str, Collection[uuid.UUID]],
) -> list[Course]:
    """Open courses of the clinic; of `suspected` and those on record alone, if it is given."""
    query = select(Course).where(Course.clinic_id == clinic_id, ~_closed()).order_by(Course.id)
    if suspected is not None:
        wanted = set(suspected).union(*on_record.values())
        query = query.where(Course.id.in_(wanted))
    return list(db.scalars(query))


def paired_since(db: Session, patient_id: uuid.UUID, now: datetime) -> datetime | None:
    """When the earliest of the phones still paired was paired; None without one."""
    return db.scalars(
        select(func.min(Device.at)).where(
            Device.patient_id == patient_id,
            Device.at <= now,
            or_(Device.ended_at.is_(None), Device.ended_at > now),
        )
    ).one()


def last_word(db: Session, patient_id: uuid.UUID, now: datetime) -> datetime | None:
    """When any phone of the patient spoke last."""
    newest = (
        select(ContactMarkRow.at)
        .where(ContactMarkRow.device_id == Device.id, ContactMarkRow.at <= now)
        .order_by(ContactMarkRow.at.desc())
        .limit(1)
        .correlate(Device)
        .scalar_subquery()
    )
    query = select(newest).select_from(Device).where(Device.patient_id == patient_id)
    return max((at for at in db.scalars(query) if at is not None), default=None)


def _closed() -> ColumnElement[bool]:
    return exists().where(CourseEvent.course_id == Course.id, CourseEvent.kind == "closed")
