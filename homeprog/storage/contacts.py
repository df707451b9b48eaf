"""Words from phones: who is calling, its marks, and what is known of a patient's phones."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, exists, func, insert, select, type_coerce
from sqlalchemy.orm import Session

from ..domain.contact import IN_USE, ContactKind, ContactMark, Contacts, Phone, contacts
from .columns import KeyText, columns
from .models import BoutRow, ContactMarkRow, Course, CourseEvent, Device, HoldRow


@dataclass(frozen=True, slots=True)
class Caller:
    """A phone that calls. `over_since` is when its patient's last open course closed."""

    device: Device
    over_since: datetime | None


@dataclass(frozen=True, slots=True)
class CallersCourse:
    """A course of the calling phone's patient, open over [opened, closed)."""

    course: Course
    closed_at: datetime | None
    ever_stopped: bool = True  # False: no stop flag was ever set, none need be looked for

    @property
    def opened(self) -> datetime:
        return self.course.at


def caller(db: Session, token_hash: bytes) -> Caller | None:
    """The phone of a token's hash, in one query."""
    row = db.execute(_CALLER, {"token_hash": token_hash}).first()
    if row is None:
        return None
    device, still_open, closed_at = row
    return Caller(device, None if still_open else closed_at)


def lock_courses(
    db: Session, clinic_id: uuid.UUID, patient_id: uuid.UUID
) -> dict[uuid.UUID, CallersCourse]:
    """The patient's courses, locked: uploads of two phones of one patient follow one another.

    SQLite has one writer at a time and needs no row lock. On PostgreSQL what stands beside the
    row that was waited for is read as of before the wait: that nothing ever stopped it is not said.
    """
    rows = db.execute(_LOCKED, {"clinic": clinic_id, "patient": patient_id})
    as_of_before = db.get_bind().dialect.name != "sqlite"
    return {
        course.id: CallersCourse(course, closed_at, stopped or as_of_before)
        for course, closed_at, stopped in rows
    }


def contacts_of(db: Session, patient_id: uuid.UUID, since: datetime, now: datetime) -> Contacts:
    """What the patient's phones had said by `now`, to judge slots that end at `since` or later."""
    meant = {"patient": patient_id, "early": since - IN_USE, "now": now}
    found = columns(db, _PHONES, meant)
    phones = [Phone(key, paired, ended) for key, paired, ended, _ in found]
    marks = [ContactMark(key, at, True) for key, _, _, at in found if at is not None]
    return contacts(phones, marks, ((key, at) for key, at in columns(db, _RECEIPTS, meant)), now)


def add_mark(
    db: Session,
    clinic_id: uuid.UUID,
    device_id: uuid.UUID,
    kind: ContactKind,
    outbox_empty: bool,
    plan_version: str | None,
    now: datetime,
) -> None:
    """Add one word from a phone."""
    db.connection().execute(
        _MARK,
        {
            "id": uuid.uuid4(), "clinic_id": clinic_id, "at": now, "device_id": device_id,
            "kind": kind, "outbox_empty": outbox_empty, "plan_version": plan_version,
        },
    )  # fmt: skip


# Built once: these are asked at every upload.
_CLOSED = exists().where(CourseEvent.course_id == Course.id, CourseEvent.kind == "closed")
_MARK = insert(ContactMarkRow)
_CALLER = select(
    Device,
    select(Course.id)
    .where(Course.patient_id == Device.patient_id, ~_CLOSED)
    .correlate(Device)
    .exists(),
    select(func.max(CourseEvent.at))
    .join(Course, Course.id == CourseEvent.course_id)
    .where(Course.patient_id == Device.patient_id, CourseEvent.kind == "closed")
    .correlate(Device)
    .scalar_subquery(),
).where(Device.token_hash == bindparam("token_hash"))
_LOCKED = (
    select(
        Course,
        select(func.max(CourseEvent.at))
        .where(CourseEvent.course_id == Course.id, CourseEvent.kind == "closed")
        .correlate(Course)
        .scalar_subquery(),
        exists().where(HoldRow.course_id == Course.id, HoldRow.kind == "stop_flag"),
    )
    .where(Course.clinic_id == bindparam("clinic"), Course.patient_id == bindparam("patient"))
    .order_by(Course.id)
    .with_for_update(of=Course, key_share=True)
)
_PHONES = select(
    type_coerce(Device.id, KeyText),
    Device.at,
    Device.ended_at,
    select(ContactMarkRow.at)
    .where(
        ContactMarkRow.device_id == Device.id,
        ContactMarkRow.outbox_empty,
        ContactMarkRow.at <= bindparam("now"),
    )
    .order_by(ContactMarkRow.at.desc())
    .limit(1)
    .correlate(Device)
    .scalar_subquery(),
).where(Device.patient_id == bindparam("patient"), Device.at <= bindparam("now"))
_RECEIPTS = (  # one for all bouts received together
    select(type_coerce(BoutRow.device_id, KeyText), BoutRow.at)
    .where(
        BoutRow.device_id.in_(select(Device.id).where(Device.patient_id == bindparam("patient"))),
        BoutRow.at >= bindparam("early"),
        BoutRow.at <= bindparam("now"),
    )
    .distinct()
)


def plan_fetched(
    db: Session, device_id: uuid.UUID, since: datetime, until: datetime
) -> list[datetime]:
    """When this phone fetched its plan in [since, until], ascending."""
    return list(
        db.scalars(
            select(ContactMarkRow.at)
            .where(
                ContactMarkRow.device_id == device_id,
                ContactMarkRow.kind == "plan",
                ContactMarkRow.at.between(since, until),
            )
            .order_by(ContactMarkRow.at)
        )
    )


def latest_contact(db: Session, patient_id: uuid.UUID, now: datetime) -> datetime | None:
    """The server's time of the last word from any phone of the patient."""
    return db.scalars(
        select(func.max(ContactMarkRow.at))
        .join(Device, Device.id == ContactMarkRow.device_id)
        .where(Device.patient_id == patient_id, ContactMarkRow.at <= now)
    ).one()
