"""Enrol a patient: the clerk's part, begun and resumed; a course exists from its first save."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Invalid
from ..storage import clinics, courses, patients
from ..storage.models import (
    Consent,
    Contact,
    Course,
    CourseFact,
    Identifier,
    Patient,
    WakingHours,
    ZoneStay,
)
from ..storage.scope import get
from .actor import Actor
from .check_facts import Faults, fact_faults
from .correct_fact import correct_facts, today
from .keep_audit import keep
from .refresh_line import show_change

OLDEST = 120  # years


@dataclass(frozen=True, slots=True)
class ClerksPart:
    """What is on the letter. Name, birth date and operation date begin it; the rest can wait."""

    name: str
    born: date
    operation_date: date
    number: str = ""
    operation_date_reason: str = ""  # where it lies more than 365 days back
    side: str = ""
    tel: str = ""
    best_times: str = ""
    language: str = "en"
    interpreter: bool = False
    carer_name: str = ""
    carer_tel: str = ""
    consent: str = ""  # the clinic's own route: 'signed form', 'spoken, witnessed'

    def facts(self) -> dict[str, object]:
        """The facts of the course it says; empty ones are not said."""
        said = {"side": self.side, "operation_date_reason": self.operation_date_reason.strip()}
        return {"operation_date": self.operation_date} | {k: v for k, v in said.items() if v}


class MaybeKnown(Conflict):
    """Somebody alike is enrolled; `people` are those to look at first."""

    def __init__(self, people: Sequence[Patient]) -> None:
        super().__init__("maybe_known", "Is this the same person?")
        self.people = list(people)


def enrol_patient(
    db: Session, by: Actor, part: ClerksPart, now: datetime, another_person: bool = False
) -> Course:
    """A patient with a first course. Invalid, a message a field; MaybeKnown unless ticked off."""
    _refuse(db, by, part, now)
    people = patients.alike(db, by.clinic_id, part.name, part.born, part.number or None)
    if people and not another_person:
        raise MaybeKnown(people)
    patient = Patient(
        clinic_id=by.clinic_id, at=now, name=part.name.strip(), born=part.born,
        language=part.language, interpreter=part.interpreter,
    )  # fmt: skip
    db.add(patient)
    db.flush()
    _give_day(db, patient, now)
    _keep_particulars(db, by, patient, part, now)
    keep(db, by, "enrolled", patient, now)
    return _open(db, by, patient, part, None, now)


def complete_enrolment(
    db: Session, by: Actor, course_id: uuid.UUID | str, part: ClerksPart, now: datetime,
    reason: str = "",
) -> Course:  # fmt: skip
    """Resume or correct the clerk's part; what has not changed is not written again."""
    course = courses.by_id(db, by.clinic_id, course_id)
    patient = get(db, Patient, by.clinic_id, course.patient_id)
    _refuse(db, by, part, now)
    before = (patient.name, patient.born, patient.language, patient.interpreter)
    after = (part.name.strip(), part.born, part.language, part.interpreter)
    if before != after:
        patient.name, patient.born, patient.language, patient.interpreter = after
        keep(db, by, "particulars_corrected", patient, now)
    _keep_particulars(db, by, patient, part, now)
    correct_facts(db, by, course.id, part.facts(), now, reason=reason)
    return course


def open_course(
    db: Session,
    by: Actor,
    patient_id: uuid.UUID | str,
    operation_date: date,
    side: str,
    now: datetime,
    previous_id: uuid.UUID | str | None = None,
    reason: str = "",
) -> Course:
    """A further course: the other hand, or a second operation after `previous_id` was closed."""
    patient = get(db, Patient, by.clinic_id, patient_id)
    part = ClerksPart(patient.name, patient.born, operation_date, side=side,
                      operation_date_reason=reason)  # fmt: skip
    _refuse(db, by, part, now)
    previous = courses.by_id(db, by.clinic_id, previous_id) if previous_id else None
    if previous is not None and previous.patient_id != patient.id:
        raise Invalid("course", "Not opened.", {"previous": ["This is another patient's course."]})
    if previous is not None and courses.closed(db, previous, now) is None:
        raise Conflict("previous_open", "Close the course before first, with its reason.")
    return _open(db, by, patient, part, previous, now)


def _refuse(db: Session, by: Actor, part: ClerksPart, now: datetime) -> None:
    day = today(db, by.clinic_id, now)
    faults: Faults = fact_faults(part.facts(), day, part.born, {})
    if not part.name.strip():
        faults["name"] = ["Say the name."]
    if part.born > day or day.year - part.born.year > OLDEST:
        faults["born"] = ["This birth date cannot be meant."]
    if bool(part.carer_name.strip()) and not part.carer_tel.strip():
        faults["carer_tel"] = ["Say the carer's number, or leave the name empty."]
    if faults:
        raise Invalid("enrolment", "The patient was not saved.", faults)


def _open(
    db: Session, by: Actor, patient: Patient, part: ClerksPart, previous: Course | None,
    now: datetime,
) -> Course:  # fmt: skip
    course = Course(
        clinic_id=by.clinic_id, at=now, patient_id=patient.id, day_zero=part.operation_date,
        previous_id=previous.id if previous else None,
    )  # fmt: skip
    db.add(course)
    db.flush()
    for what, value in part.facts().items():
        plain = value.isoformat() if isinstance(value, date) else value
        db.add(
            CourseFact(
                clinic_id=by.clinic_id, at=now, course_id=course.id, what=what,
                value={"is": plain}, by_id=by.id,
            )
        )  # fmt: skip
    keep(db, by, "course_opened", course, now)
    show_change(db, course, now)
    return course


def _give_day(db: Session, patient: Patient, now: datetime) -> None:
    """The clinic's zone and waking hours, until the patient's own are said."""
    own = {"clinic_id": patient.clinic_id, "at": now, "patient_id": patient.id}
    zone = clinics.clinic_of(db, patient.clinic_id).zone
    wake, sleep = clinics.waking(db, patient.clinic_id, now)
    db.add(ZoneStay(**own, zone=zone, starts=now, said_by="staff"))
    for weekday in range(7):
        db.add(WakingHours(**own, weekday=weekday, wake=wake, sleep=sleep, valid_from=now))


def _keep_particulars(
    db: Session, by: Actor, patient: Patient, part: ClerksPart, now: datetime
) -> None:
    own = {"clinic_id": by.clinic_id, "at": now, "patient_id": patient.id}
    number = part.number.strip()
    if number and patients.number_of(db, patient.id) != number:
        db.add(Identifier(**own, kind="hospital", value=number))
    known = patients.contacts(db, patient.id, now)
    for whose, name, tel, times in (
        ("patient", None, part.tel.strip(), part.best_times.strip() or None),
        ("carer", part.carer_name.strip() or None, part.carer_tel.strip(), None),
    ):
        kept = known.get(whose)
        same = kept and (kept.name, kept.tel, kept.best_times) == (name, tel, times)
        if tel and not same:
            db.add(Contact(**own, whose=whose, name=name, tel=tel, best_times=times))
    route, held = part.consent.strip(), patients.consent(db, patient.id, now)
    if route and (held is None or held.route != route):
        db.add(Consent(**own, route=route, by_id=by.id))
    db.flush()
