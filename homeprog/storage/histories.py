"""The rows of one course that bear on its timetable, read as columns: no objects are made.

A course's history is read at every upload and several times a tick. Each statement is put
together once, and a regime's body is read as text, so that it is parsed once.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any

from sqlalchemy import Text, bindparam, cast, select
from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from ..domain.regime import Regime
from .columns import columns
from .models import Clinic, Course, CourseEvent, Release, Revision, WakingHours, ZoneStay
from .regimes import parsed


@dataclass(frozen=True, slots=True)
class Revised:
    """What the timetable needs of a revision."""

    id: uuid.UUID
    number: int
    limits: tuple[str, ...]
    body: str

    @property
    def regime(self) -> Regime:
        return parsed(self.body)


@dataclass(frozen=True, slots=True)
class Released:
    """What the timetable needs of a release."""

    phase: str
    exercise: str | None


@dataclass(frozen=True, slots=True)
class Woken:
    """The waking hours said for a weekday."""

    weekday: int
    wake: time
    sleep: time


def revised(db: Session, course: Course, now: datetime) -> Iterator[tuple[datetime, Revised]]:
    """Each revision that has, or will have, taken effect, by number; a cancelled one never did."""
    for key, number, starts, limits, body in columns(db, _REVISIONS, _meant(course, now)):
        yield ceil_minute(starts), Revised(key, number, tuple(limits), body)


def released(db: Session, course: Course, now: datetime) -> Iterator[tuple[datetime, Released]]:
    """Each release that has begun, in the order they were signed; one signed ahead once it has."""
    begun = ceil_minute(now)
    for starts, phase, exercise in columns(db, _RELEASES, _meant(course, now)):
        if starts <= begun:
            yield ceil_minute(starts), Released(phase, exercise)


def turning_points(db: Session, course: Course, now: datetime) -> dict[str, datetime]:
    """The first confirmation and the closing, to the next whole minute."""
    rows = columns(db, _EVENTS, _meant(course, now))
    return {kind: ceil_minute(at) for kind, at in rows}


def wakings(db: Session, course: Course, now: datetime) -> Iterator[tuple[datetime, Woken]]:
    """Every word on waking hours, by the instant it takes effect."""
    for starts, *said in columns(db, _WAKINGS, _meant(course, now)):
        yield ceil_minute(starts), Woken(*said)


def zone_stays(db: Session, patient_id: uuid.UUID, now: datetime) -> list[tuple[datetime, str]]:
    """The zones the patient said, by the instant each begins."""
    rows = columns(db, _ZONES, {"patient": patient_id, "now": now})
    return [(ceil_minute(starts), zone) for starts, zone in rows]


def clinic_zone(db: Session, clinic_id: uuid.UUID) -> str:
    """The zone of the clinic."""
    zone: str = columns(db, _CLINIC_ZONE, {"clinic": clinic_id})[0][0]
    return zone


def _meant(course: Course, now: datetime) -> dict[str, Any]:
    return {
        "clinic": course.clinic_id, "course": course.id, "patient": course.patient_id, "now": now,
    }  # fmt: skip


def _seen(row: type[CourseEvent] | type[Release] | type[Revision]) -> tuple[Any, ...]:
    return (
        row.clinic_id == bindparam("clinic"),
        row.course_id == bindparam("course"),
        row.at <= bindparam("now"),
    )


_EVENTS = (
    select(CourseEvent.kind, CourseEvent.at)
    .where(*_seen(CourseEvent), CourseEvent.kind.in_(("confirmed", "closed")))
    .order_by(CourseEvent.at.desc())
)
_REVISIONS = (
    select(
        Revision.id, Revision.number, Revision.effective_from, Revision.limits,
        cast(Revision.body, Text),
    )
    .where(
        *_seen(Revision),
        Revision.cancelled_by_id.is_(None),
        Revision.effective_from.is_not(None),
    )
    .order_by(Revision.number)
)  # fmt: skip
_RELEASES = (
    select(Release.starts, Release.phase, Release.exercise)
    .where(*_seen(Release), Release.starts.is_not(None))
    .order_by(Release.at, Release.id)
)
_WAKINGS = (
    select(WakingHours.valid_from, WakingHours.weekday, WakingHours.wake, WakingHours.sleep)
    .where(
        WakingHours.clinic_id == bindparam("clinic"),
        WakingHours.patient_id == bindparam("patient"),
        WakingHours.at <= bindparam("now"),
    )
    .order_by(WakingHours.valid_from, WakingHours.at, WakingHours.id)
)
_ZONES = (
    select(ZoneStay.starts, ZoneStay.zone)
    .where(ZoneStay.patient_id == bindparam("patient"), ZoneStay.at <= bindparam("now"))
    .order_by(ZoneStay.starts, ZoneStay.at, ZoneStay.id)
)
_CLINIC_ZONE = select(Clinic.zone).where(Clinic.id == bindparam("clinic"))
