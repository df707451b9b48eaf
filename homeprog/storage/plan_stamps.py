"""What has been written that a phone's plan is made of: cheap enough to ask at every upload."""

from __future__ import annotations

import uuid
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Select,
    bindparam,
    func,
    literal,
    select,
    union_all,
)
from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from .base import Row
from .columns import columns
from .demo_clock import KEY as DEMO_CLOCK
from .models import (
    Alert,
    AlertEvent,
    ClinicSetting,
    ClosingDay,
    Course,
    CourseEvent,
    CourseFact,
    Duty,
    HoldEnd,
    HoldRow,
    LanguageStep,
    Number,
    Patient,
    Quiet,
    Release,
    Repair,
    Revision,
    SignedText,
    Visit,
    VisitEvent,
    WakingHours,
    ZoneStay,
)

OF_COURSE = (CourseEvent, CourseFact, Repair, HoldRow, Revision, Release, Visit)
OF_PATIENT = (Course, WakingHours, ZoneStay, Quiet)
OF_CLINIC = (SignedText, LanguageStep, Number, Duty, ClosingDay)


def plan_stamp(db: Session, patient_id: uuid.UUID, now: datetime) -> list[str]:
    """The patient's language and a line a table: how many rows bear on the plan, the last's date.

    These rows are never changed after they are written, but for a release that begins or lapses
    and a wish for quiet that is ended, which are counted too: what has the same stamp makes the
    same plan.
    """
    rows = columns(db, _question(), {"patient": patient_id, "now": now})
    return sorted(f"{name} {count} {last}" for name, count, last in rows)


@lru_cache(maxsize=1)
def _question() -> CompoundSelect[Any]:
    """Put together once: it is asked at every upload."""
    patient: BindParameter[Any] = bindparam("patient")
    here = Patient.id == patient
    clinic = select(Patient.clinic_id).where(here).scalar_subquery()
    theirs = select(Course.id).where(Course.patient_id == patient)
    begun = func.count(Release.starts) + func.count(Release.lapsed_at)
    own: ColumnElement[bool] = ClinicSetting.clinic_id == clinic
    return union_all(
        select(Patient.language, literal(1), Patient.at).where(here),
        *(_line(row, row.course_id.in_(theirs)) for row in OF_COURSE),
        *(_line(row, row.patient_id == patient) for row in OF_PATIENT),
        *(_line(row, row.clinic_id == clinic) for row in OF_CLINIC),
        _line(HoldEnd, HoldEnd.hold_id.in_(_ids(HoldRow, theirs))),
        _line(VisitEvent, VisitEvent.visit_id.in_(_ids(Visit, theirs))),
        _line(AlertEvent, AlertEvent.alert_id.in_(_reported(theirs))),
        _line(ClinicSetting, own & (ClinicSetting.key != DEMO_CLOCK)),
        select(literal("quiet ended"), func.count(Quiet.ends), func.max(Quiet.ends)).where(
            Quiet.patient_id == patient, Quiet.at <= bindparam("now")
        ),
        select(literal("begun"), begun, func.max(Release.at)).where(
            Release.course_id.in_(theirs), Release.at <= bindparam("now")
        ),
    )


def _line(row: type[Row], which: ColumnElement[bool]) -> Select[Any]:
    named = literal(row.__tablename__)
    return select(named, func.count(row.id), func.max(row.at)).where(
        which, row.at <= bindparam("now")
    )


def _reported(courses: Select[Any]) -> Select[Any]:
    """Alerts of trouble: the phone tells who has seen a report."""
    return select(Alert.id).where(Alert.course_id.in_(courses), Alert.trouble_id.is_not(None))


def _ids(row: type[HoldRow] | type[Visit], courses: Select[Any]) -> Select[Any]:
    return select(row.id).where(row.course_id.in_(courses))


def revision_numbers(db: Session, patient_id: uuid.UUID, now: datetime) -> dict[uuid.UUID, int]:
    """The number of the revision in force in each course of the patient that has one."""
    rows = columns(db, _NUMBERS, {"patient": patient_id, "now": now, "minute": ceil_minute(now)})
    return {course: number for course, number in rows}  # noqa: C416 - rows are no pairs to mypy


# Built once: asked at every upload.
_NUMBERS = (
    select(Revision.course_id, func.max(Revision.number))
    .join(Course, Course.id == Revision.course_id)
    .where(
        Course.patient_id == bindparam("patient"),
        Revision.cancelled_by_id.is_(None),
        Revision.at <= bindparam("now"),
        Revision.effective_from <= bindparam("minute"),
    )
    .group_by(Revision.course_id)
)
