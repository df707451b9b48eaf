"""Which courses the watch looks at, and what it asks of phones."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, and_, bindparam, exists, func, or_, select, update
from sqlalchemy.orm import Session

from ..domain.alert import UNSETTLED
from . import clinics
from .alerts import ENDED
from .columns import columns
from .models import (
    Alert,
    AlertEvent,
    CaseloadLine,
    ContactMarkRow,
    Course,
    CourseEvent,
    DailyCheck,
    DaySummaryRow,
    Device,
    HoldRow,
    Release,
    Touch,
    TroubleReport,
    Understanding,
    Visit,
    VisitEvent,
)

CHANGES = (
    Release, Visit, HoldRow, CourseEvent, DailyCheck, TroubleReport, Understanding,
)  # fmt: skip
OPENED_WITHIN = timedelta(minutes=2)  # a tick is a minute; one that is looked at twice is as one
UNTIL_A_WORD = ("no_contact", "plan_not_received")  # kinds that a word from a phone may end


@dataclass(frozen=True, slots=True)
class Overtaken:
    """An open course whose line in the caseload is behind."""

    course: uuid.UUID
    new_day: bool  # a course day has begun since, or it has no line yet
    news: bool  # something was logged, heard, changed or done about an alert since


def overtaken(db: Session, now: datetime) -> list[Overtaken]:
    """Open courses in which something has happened since their line was worked out."""
    new_day = or_(CaseloadLine.id.is_(None), CaseloadLine.next_at <= now)
    summed = exists().where(
        DaySummaryRow.course_id == Course.id, DaySummaryRow.as_of > CaseloadLine.as_of
    )
    told = exists().where(
        Alert.course_id == Course.id,
        AlertEvent.alert_id == Alert.id,
        AlertEvent.at > CaseloadLine.as_of,
    )
    changed = or_(
        *(
            exists().where(row.course_id == Course.id, row.at > CaseloadLine.as_of)
            for row in CHANGES
        )
    )
    kept = exists().where(
        Visit.course_id == Course.id, VisitEvent.visit_id == Visit.id,
        VisitEvent.at > CaseloadLine.as_of,
    )  # fmt: skip
    spoke = exists().where(
        Alert.course_id == Course.id,
        Alert.kind.in_(UNTIL_A_WORD),
        Alert.state.in_(UNSETTLED),
        Device.patient_id == Course.patient_id,
        ContactMarkRow.device_id == Device.id,
        ContactMarkRow.at > Alert.at,
    )
    touched = exists().where(Touch.course_id == Course.id, Touch.at <= now)
    news = or_(summed, told, changed, kept, spoke, touched)
    rows = db.execute(
        select(Course.id, new_day, news)
        .outerjoin(CaseloadLine, CaseloadLine.course_id == Course.id)
        .where(~_closed(), or_(new_day, news))
        .order_by(Course.id)
    ).all()
    return [Overtaken(course, bool(day), bool(fresh)) for course, day, fresh in rows]


def line_stands(db: Session, course_ids: Collection[uuid.UUID], now: datetime) -> None:
    """The lines of these courses are still true at `now`."""
    if course_ids:
        theirs = CaseloadLine.course_id.in_(course_ids)
        db.execute(update(CaseloadLine).where(theirs).values(as_of=now))


def courses_opened(db: Session, now: datetime) -> list[uuid.UUID]:
    """The open courses of clinics that have opened within the last two minutes."""
    opened = _just_opened(db, now)
    query = select(Course.id).where(Course.clinic_id.in_(opened), ~_closed())
    return list(db.scalars(query.order_by(Course.id))) if opened else []


def _just_opened(db: Session, now: datetime) -> list[uuid.UUID]:
    before = now - OPENED_WITHIN
    opened = []
    for clinic in clinics.all_clinics(db):
        opens = clinics.next_opening(db, clinic.id, before)
        if opens is not None and before < opens <= now:
            opened.append(clinic.id)
    return opened


def closed_with_alerts(db: Session, kinds: Collection[str]) -> list[Course]:
    """Closed courses with an unsettled alert of these kinds."""
    query = (
        select(Course)
        .join(Alert, Alert.course_id == Course.id)
        .where(Alert.kind.in_(kinds), Alert.state.in_(UNSETTLED), _closed())
        .distinct()
    )
    return list(db.scalars(query))


def kinds_on_record(
    db: Session, course_id: uuid.UUID, kinds: Collection[str]
) -> tuple[set[str], set[str]]:
    """Kinds of which the course has an unsettled alert; a settled one not known to be over."""
    rows = columns(db, _ON_RECORD, {"course": course_id, "kinds": list(kinds)})
    unsettled = {kind for kind, state in rows if state in UNSETTLED}
    return unsettled, {kind for kind, state in rows if state not in UNSETTLED}


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


_ON_RECORD = select(Alert.kind, Alert.state).where(  # built once: asked at every slot that passes
    Alert.course_id == bindparam("course"),
    Alert.kind.in_(bindparam("kinds", expanding=True)),
    or_(
        Alert.state.in_(UNSETTLED),
        and_(
            Alert.state == "settled",
            ~exists().where(AlertEvent.alert_id == Alert.id, AlertEvent.what == ENDED),
        ),
    ),
)
