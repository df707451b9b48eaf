"""The manager's figures of a clinic's alerts over the last days."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.alert.kinds import LEVELS, TROUBLE
from ..domain.alert.load import Taken, load, patient_days, taken
from ..domain.alert.routing import Week
from ..domain.clock import local
from . import telling
from .models import Alert, AlertEvent, Course, CourseEvent, Device, Patient

DAYS = 28


@dataclass(frozen=True, slots=True)
class Figures:
    """Of alerts opened in the window, trouble apart where it says so."""

    since: datetime
    taken: Mapping[str, Taken]  # by level
    settled: int
    false_alarms: int  # of the settled, marked so
    alerts: int  # trouble apart
    trouble: int
    clinic_days: int
    load: float | None  # alerts a clinic day for every 30 patients, trouble apart
    never_paired: list[Patient]


def figures(db: Session, clinic_id: uuid.UUID, now: datetime, days: int = DAYS) -> Figures:
    """What the last `days` days were like."""
    since, week = now - timedelta(days=days), telling.week(db, clinic_id, now)
    rows = list(
        db.scalars(
            select(Alert).where(Alert.clinic_id == clinic_id, Alert.at >= since, Alert.at <= now)
        )
    )
    settled = _settled(db, clinic_id, since, now)
    trouble = sum(row.kind in TROUBLE for row in rows)
    open_days = _clinic_days(week, since, now)
    lived = patient_days(_stays(db, clinic_id, now), since, now)
    return Figures(
        since=since,
        taken=_taken(db, rows, week, now),
        settled=len(settled),
        false_alarms=sum(bool(event.figures.get("false_alarm")) for event in settled),
        alerts=len(rows) - trouble,
        trouble=trouble,
        clinic_days=open_days,
        load=load(len(rows) - trouble, open_days, lived, days),
        never_paired=never_paired(db, clinic_id, now),
    )


def _settled(db: Session, clinic_id: uuid.UUID, since: datetime, now: datetime) -> list[AlertEvent]:
    query = select(AlertEvent).where(
        AlertEvent.clinic_id == clinic_id, AlertEvent.what == "settled", AlertEvent.at >= since,
        AlertEvent.at <= now,
    )  # fmt: skip
    return list(db.scalars(query))


def _taken(db: Session, rows: Collection[Alert], week: Week, now: datetime) -> dict[str, Taken]:
    """By level: clinic hours from the start of an alert's clock to its being taken up."""
    query = select(AlertEvent.alert_id, AlertEvent.at).where(
        AlertEvent.alert_id.in_([row.id for row in rows]), AlertEvent.what == "taken_up",
        AlertEvent.at <= now,
    )  # fmt: skip
    when = {row.alert_id: row.at for row in db.execute(query.order_by(AlertEvent.at.desc()))}
    found: dict[str, Taken] = {}
    for level in LEVELS:
        of_level = [row for row in rows if row.level == level]
        waits = [
            week.elapsed(row.clock_starts, when[row.id], row.kind in TROUBLE)
            for row in of_level
            if row.id in when
        ]
        found[level] = taken(waits, sum(row.state == "open" for row in of_level))
    return found


def _clinic_days(week: Week, since: datetime, now: datetime) -> int:
    first, last = local(since, week.zone).date(), local(now, week.zone).date()
    days = (first + timedelta(days=n) for n in range(1, (last - first).days + 1))
    return sum(map(week.clinic_day, days))


def _stays(
    db: Session, clinic_id: uuid.UUID, now: datetime
) -> list[tuple[datetime, datetime | None]]:
    """When each course was open: from its confirmation to its closing."""
    query = select(CourseEvent.course_id, CourseEvent.kind, CourseEvent.at).where(
        CourseEvent.clinic_id == clinic_id, CourseEvent.kind.in_(("confirmed", "closed")),
        CourseEvent.at <= now,
    )  # fmt: skip
    began: dict[uuid.UUID, datetime] = {}
    ended: dict[uuid.UUID, datetime] = {}
    for course, kind, at in db.execute(query.order_by(CourseEvent.at)):
        (began if kind == "confirmed" else ended).setdefault(course, at)
    return [(at, ended.get(course)) for course, at in began.items()]


def never_paired(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Patient]:
    """Patients with an open, confirmed course of whom no phone was ever paired, by name."""
    confirmed, closed = (
        select(CourseEvent.course_id).where(CourseEvent.kind == kind, CourseEvent.at <= now)
        for kind in ("confirmed", "closed")
    )
    paired = select(Device.patient_id).where(Device.at <= now)
    query = (
        select(Patient)
        .join(Course, Course.patient_id == Patient.id)
        .where(
            Patient.clinic_id == clinic_id, Course.id.in_(confirmed), Course.id.not_in(closed),
            Patient.id.not_in(paired),
        )
        .distinct()
        .order_by(Patient.name, Patient.id)
    )  # fmt: skip
    return list(db.scalars(query))
