"""A course on a regime: two clinicians, an approved template, confirmed and released."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy.orm import Session

from homeprog.services.actor import Actor
from homeprog.services.adopt_template import adopt_template, approve_template
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.models import (
    Clinic,
    Course,
    CourseEvent,
    CourseFact,
    Patient,
    Release,
    Repair,
    Revision,
    Staff,
    StaffMark,
    Template,
    WakingHours,
)

LONDON = "Europe/London"
DYNAMIC = "static-then-dynamic"  # dressing, static, dynamic from day 7 (10 times every hour)
CONTROLLED = "early-controlled-active"
FOUR = ("index", "middle", "ring", "small")


@dataclass(frozen=True)
class OnRegime:
    """What `on_regime` made."""

    clinic: Clinic
    therapist: Actor
    surgeon: Actor
    patient: Patient
    course: Course
    template: Template
    revision: Revision
    release: Release | None  # None with release=None


def a_clinic(db: Session, now: datetime, zone: str = LONDON) -> Clinic:
    clinic = Clinic(at=now, name=f"Invented clinic {uuid.uuid4().hex[:8]}", zone=zone)
    db.add(clinic)
    db.flush()
    return clinic


def a_clinician(db: Session, clinic: Clinic, now: datetime, profession: str) -> Actor:
    staff = Staff(
        at=now, clinic_id=clinic.id, sign_in=f"{profession}.{uuid.uuid4().hex[:8]}",
        name="Invented Clinician", role="therapist", password_hash="-",
    )  # fmt: skip
    db.add(staff)
    db.flush()
    mark = StaffMark(
        at=now, clinic_id=clinic.id, staff_id=staff.id, profession=profession, valid_from=now
    )
    db.add(mark)
    db.flush()
    return Actor(clinic.id, "staff", staff.id, "therapist", profession)


def a_course(db: Session, clinic: Clinic, operated: date, now: datetime) -> Course:
    """A patient awake 7 to 22 with an EDC repair of the left middle finger in zone VI."""
    patient = Patient(at=now, clinic_id=clinic.id, name="Invented Patient", born=date(1980, 3, 4))
    db.add(patient)
    db.flush()
    course = Course(at=now, clinic_id=clinic.id, patient_id=patient.id, day_zero=operated)
    db.add(course)
    db.flush()
    for weekday in range(7):
        db.add(
            WakingHours(
                at=now,
                clinic_id=clinic.id,
                patient_id=patient.id,
                weekday=weekday,
                wake=time(7),
                sleep=time(22),
                valid_from=now,
            )
        )
    for what, value in (("side", "left"), ("worn", "splint"), ("handedness", "right")):
        fact(db, course, what, value, now)
    repair = Repair(
        at=now, clinic_id=clinic.id, course_id=course.id, set_id=uuid.uuid4(), digit="middle",
        structure="EDC", zone="VI",
    )  # fmt: skip
    db.add(repair)
    db.flush()
    return course


def fact(db: Session, course: Course, what: str, value: Any, now: datetime) -> None:
    db.add(
        CourseFact(
            at=now,
            clinic_id=course.clinic_id,
            course_id=course.id,
            what=what,
            value={"is": value},
        )
    )


def confirm(db: Session, course: Course, now: datetime) -> CourseEvent:
    """The confirmation alone, as a row: phase 0 is in force from it."""
    event = CourseEvent(
        at=now, clinic_id=course.clinic_id, course_id=course.id, kind="confirmed", figures={}
    )
    db.add(event)
    db.flush()
    return event


def approved(db: Session, one: Actor, other: Actor, key: str, now: datetime) -> Template:
    template = adopt_template(db, one, key, now)
    approve_template(db, other, template.id, now)
    return template


def on_regime(
    db: Session,
    now: datetime,
    *,
    template: str = DYNAMIC,
    operated_days_ago: int = 10,
    release: str | None = "dynamic",
    clinic: Clinic | None = None,
    zone: str = LONDON,
) -> OnRegime:
    """A course operated so many days before `now`, with the phase released at `now`.

    Everything happens at `now`: slots follow from its next whole minute. With
    template=CONTROLLED use release="controlled_active". `release` None: phase 0.
    """
    clinic = clinic or a_clinic(db, now, zone)
    therapist = a_clinician(db, clinic, now, "hand_therapist")
    surgeon = a_clinician(db, clinic, now, "surgeon")
    course = a_course(db, clinic, now.date() - timedelta(days=operated_days_ago), now)
    row = approved(db, therapist, surgeon, template, now)
    wanted = Wanted(row.id, row.body, "as the template")
    saved = set_regime(db, therapist, course.id, wanted, now)
    confirm(db, course, now)
    released = None
    if release is not None:
        signed = Signed(release, splint_fitted=True, hand_examined=True)
        released = release_phase(db, therapist, course.id, signed, now)
    patient = db.get_one(Patient, course.patient_id)
    return OnRegime(clinic, therapist, surgeon, patient, course, row, saved.revision, released)
