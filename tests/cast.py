"""The people of the tests: a clinic, its staff, patients at each step of enrolment."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.trouble import required_texts
from homeprog.services.actor import Actor
from homeprog.services.sign_in import hash_password
from homeprog.storage.models import (
    Clinic,
    ClinicHours,
    Consent,
    Contact,
    Course,
    CourseEvent,
    CourseFact,
    Device,
    Duty,
    Identifier,
    Number,
    Patient,
    Repair,
    SignedText,
    Staff,
    StaffMark,
    WakingHours,
    ZoneStay,
)

PASSWORD = "three dry splints"
ZONE = "Europe/London"


def clinic(db: Session, now: datetime, name: str = "Harbour Hand Unit", zone: str = ZONE) -> Clinic:
    """A clinic open Monday to Friday 8 to 17, with a number for every hour and no texts."""
    made = Clinic(at=now, name=name, zone=zone)
    db.add(made)
    db.flush()
    hours, tels = uuid.uuid4(), uuid.uuid4()
    for weekday in range(7):
        db.add(_number(made, now, tels, weekday, ("Ring the hand unit", "020 7946 0101", "clinic")))
        db.add(_number(made, now, tels, weekday, ("Ambulance", "999", "emergency")))
    for weekday in range(5):
        db.add(
            ClinicHours(
                clinic_id=made.id, at=now, set_id=hours, weekday=weekday,
                opens=time(8), closes=time(17),
            )
        )  # fmt: skip
    db.flush()
    return made


def _number(
    where: Clinic, now: datetime, set_id: uuid.UUID, weekday: int, said: tuple[str, str, str]
) -> Number:
    label, tel, kind = said
    return Number(
        clinic_id=where.id, at=now, set_id=set_id, label=label, tel=tel, kind=kind,
        weekday=weekday, opens=time(0), closes=time(0),
    )  # fmt: skip


def workplace(db: Session, who: Staff) -> Clinic:
    """The clinic a staff member works at."""
    return db.scalars(select(Clinic).where(Clinic.id == who.clinic_id)).one()


def on_duty(db: Session, who: Staff, now: datetime) -> None:
    """Put `who` on duty for trouble in the clinic's opening hours."""
    set_id = uuid.uuid4()
    for weekday in range(5):
        db.add(
            Duty(
                clinic_id=who.clinic_id, at=now, set_id=set_id, weekday=weekday,
                opens=time(8), closes=time(17), staff_id=who.id,
            )
        )  # fmt: skip
    db.flush()


def staff(
    db: Session,
    where: Clinic,
    now: datetime,
    role: str = "therapist",
    profession: str | None = "hand_therapist",
    name: str = "Anna Berg",
) -> Staff:
    """A staff member who signs in with PASSWORD; a clinician unless profession is None."""
    made = Staff(
        clinic_id=where.id, at=now, name=name, role=role, must_change=False,
        sign_in=f"{name.split()[0].lower()}.{uuid.uuid4().hex[:6]}", password_hash=_hash(),
    )  # fmt: skip
    db.add(made)
    db.flush()
    if profession:
        db.add(
            StaffMark(
                clinic_id=where.id, at=now, staff_id=made.id, profession=profession, valid_from=now
            )
        )
        db.flush()
    return made


@lru_cache(maxsize=1)
def _hash() -> str:
    return hash_password(PASSWORD)


def acting(who: Staff, profession: str | None = "hand_therapist") -> Actor:
    """The actor a staff member is; a clinician unless profession is None."""
    return Actor(who.clinic_id, "staff", who.id, who.role, profession)  # type: ignore[arg-type]


def signed(db: Session, by: Staff, now: datetime) -> None:
    """Sign every text a phone needs, whatever is worn."""
    for key in required_texts(None):
        db.add(
            SignedText(
                clinic_id=by.clinic_id, at=now, key=key, worn=None, language="en",
                title=key, lines=[f"The clinic's words for {key}."], by_id=by.id,
            )
        )  # fmt: skip
    db.flush()


def enrolled(
    db: Session,
    by: Staff,
    now: datetime,
    operated: date | None = None,
    number: str = "SH 40217",
    name: str = "Grace Obi",
    **facts: Any,
) -> Course:
    """A patient by the clerk's and the clinician's parts, 8 days after the operation; unconfirmed.

    `facts` override the facts of the clinician's part, e.g. worn="plaster".
    """
    patient = _patient(db, by, now, name, number)
    operated = operated or (now - timedelta(days=8)).date()
    course = Course(clinic_id=by.clinic_id, at=now, patient_id=patient.id, day_zero=operated)
    db.add(course)
    db.flush()
    entered = {
        "operation_date": operated.isoformat(), "side": "left", "handedness": "right",
        "worn": "splint", "with_it": [], "age_group": "adult", "follows_plan": "alone",
        "weakens": [], "therapist": str(by.id), "surgeon": "Mr Oyelaran",
    } | facts  # fmt: skip
    for what, value in entered.items():
        db.add(
            CourseFact(
                clinic_id=by.clinic_id, at=now, course_id=course.id, what=what,
                value={"is": value}, by_id=by.id,
            )
        )  # fmt: skip
    db.add(
        Repair(
            clinic_id=by.clinic_id, at=now, course_id=course.id, set_id=uuid.uuid4(),
            digit="middle", structure="EDC", zone="VI",
        )
    )  # fmt: skip
    db.flush()
    return course


def _patient(db: Session, by: Staff, now: datetime, name: str, number: str) -> Patient:
    own = {"clinic_id": by.clinic_id, "at": now}
    zone = db.scalars(select(Clinic.zone).where(Clinic.id == by.clinic_id)).one()
    patient = Patient(**own, name=name, born=date(1968, 3, 4))
    db.add(patient)
    db.flush()
    theirs = own | {"patient_id": patient.id}
    db.add_all(
        [
            Identifier(**theirs, kind="hospital", value=number),
            Contact(**theirs, whose="patient", tel="07700 900123", best_times="after 16:00"),
            Consent(**theirs, route="signed form", by_id=by.id),
            ZoneStay(**theirs, zone=zone, starts=now, said_by="staff"),
            *(
                WakingHours(**theirs, weekday=d, wake=time(7), sleep=time(22), valid_from=now)
                for d in range(7)
            ),
        ]
    )
    db.flush()
    return patient


def confirmed(
    db: Session, by: Staff, now: datetime, read_back: bool = True, **given: Any
) -> Course:
    """An enrolled course a clinician has confirmed, and the patient has read the hand back."""
    course = enrolled(db, by, now, **given)
    said = CourseEvent(
        clinic_id=by.clinic_id, at=now, course_id=course.id, kind="confirmed",
        figures={"source": "operation_note"}, by_id=by.id,
    )  # fmt: skip
    db.add(said)
    db.flush()
    if read_back:
        db.add(
            CourseEvent(
                clinic_id=by.clinic_id, at=now, course_id=course.id, kind="read_back",
                figures={"question": str(said.id)},
            )
        )  # fmt: skip
        db.flush()
    return course


def phone(db: Session, course: Course, now: datetime, whose: str = "patient") -> Device:
    """A paired phone of the course's patient."""
    device = Device(
        clinic_id=course.clinic_id, at=now, patient_id=course.patient_id, whose=whose,
        token_hash=uuid.uuid4().bytes, name="a phone",
    )  # fmt: skip
    db.add(device)
    db.flush()
    return device
