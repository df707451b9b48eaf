"""Courses: facts, repairs, standing and the question 'Is this your hand?' as they are now."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from datetime import date, datetime
from typing import Any, Literal

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from ..domain.course import DIGITS, Digit
from .base import newest_first, oldest_first
from .columns import columns
from .models import Course, CourseEvent, CourseFact, Repair, Revision, Task
from .scope import get

State = Literal["unconfirmed", "confirmed", "closed"]
CORRECTED = ("date_corrected", "facts_corrected")
FINGERS: dict[str, str] = {
    "thumb": "thumb",
    "index": "index finger",
    "middle": "middle finger",
    "ring": "ring finger",
    "small": "little finger",
}


def facts_in_force(db: Session, course: Course, now: datetime) -> dict[str, Any]:
    """The newest value of each fact; lists as tuples, operation_date as a date."""
    facts: dict[str, Any] = {"operation_date": course.day_zero}
    for what, said in columns(db, _FACTS, {"course": course.id, "now": now}):
        value = said["is"]
        facts[what] = tuple(value) if isinstance(value, list) else value
    if isinstance(facts["operation_date"], str):
        facts["operation_date"] = date.fromisoformat(facts["operation_date"])
    return facts


def repairs_in_force(db: Session, course: Course, now: datetime) -> list[Repair]:
    """The rows of the newest set of repairs."""
    held = select(Repair).where(Repair.course_id == course.id, Repair.at <= now)
    newest = db.scalars(held.order_by(*newest_first(Repair))).first()
    if newest is None:
        return []
    rows = db.scalars(held.where(Repair.set_id == newest.set_id)).all()
    order: list[str | None] = [*DIGITS, None]
    return sorted(rows, key=lambda r: (order.index(r.digit), r.structure, r.zone))


def events(
    db: Session, course: Course, now: datetime, kinds: Collection[str] = ()
) -> list[CourseEvent]:
    """What became of the course, oldest first; only of `kinds` where given."""
    wanted = select(CourseEvent).where(CourseEvent.course_id == course.id, CourseEvent.at <= now)
    if kinds:
        wanted = wanted.where(CourseEvent.kind.in_(kinds))
    return list(db.scalars(wanted.order_by(*oldest_first(CourseEvent))))


def state(db: Session, course: Course, now: datetime) -> State:
    """Confirmed from the first confirmation on; a correction opens a hold and leaves it so."""
    kinds = {kind for (kind,) in columns(db, _KINDS, {"course": course.id, "now": now})}
    if "closed" in kinds:
        return "closed"
    return "confirmed" if "confirmed" in kinds else "unconfirmed"


# Built once: these are asked several times a tick.
_FACTS = (
    select(CourseFact.what, CourseFact.value)
    .where(CourseFact.course_id == bindparam("course"), CourseFact.at <= bindparam("now"))
    .order_by(*oldest_first(CourseFact))
)
_KINDS = select(CourseEvent.kind).where(
    CourseEvent.course_id == bindparam("course"),
    CourseEvent.at <= bindparam("now"),
    CourseEvent.kind.in_(("confirmed", "closed")),
)


def confirmation(db: Session, course: Course, now: datetime) -> CourseEvent | None:
    """The confirmation that holds; None before the first one and after a correction."""
    told = events(db, course, now, ("confirmed", *CORRECTED))
    told.sort(key=lambda e: (e.at, e.kind in CORRECTED))  # at one instant the correction rules
    return told[-1] if told and told[-1].kind == "confirmed" else None


def confirmed_at(db: Session, course: Course, now: datetime) -> datetime | None:
    """When the course was first confirmed: phase 0 is in force from then."""
    first = events(db, course, now, ("confirmed",))
    return first[0].at if first else None


def closed(db: Session, course: Course, now: datetime) -> CourseEvent | None:
    """The closing, with its reason in figures['reason']; None while open."""
    told = events(db, course, now, ("closed",))
    return told[-1] if told else None


def read_back(
    db: Session, course: Course, question_id: uuid.UUID, now: datetime
) -> Literal["yes", "no"] | None:
    """The last answer to 'Is this your hand?'; the question is the confirmation's id."""
    for event in reversed(events(db, course, now, ("read_back", "read_back_no"))):
        if event.figures.get("question") == str(question_id):
            return "yes" if event.kind == "read_back" else "no"
    return None


def hand_question(db: Session, course: Course, now: datetime) -> CourseEvent | None:
    """The confirmation whose 'Is this your hand?' nobody has answered yet."""
    asked = confirmation(db, course, now)
    if asked is None or read_back(db, course, asked.id, now) is not None:
        return None
    return asked


def not_read_back(db: Session, course: Course, now: datetime) -> bool:
    """Whether 'not read back' stands on the patient's page: confirmed, and no 'yes' yet."""
    asked = confirmation(db, course, now)
    return asked is not None and read_back(db, course, asked.id, now) != "yes"


def open_courses(db: Session, clinic_id: uuid.UUID) -> list[Course]:
    """Every course of the clinic that is not closed."""
    return list(
        db.scalars(_open().where(Course.clinic_id == clinic_id).order_by(*oldest_first(Course)))
    )


def open_courses_of(db: Session, patient_id: uuid.UUID) -> list[Course]:
    """A patient's courses that are not closed."""
    return list(
        db.scalars(_open().where(Course.patient_id == patient_id).order_by(*oldest_first(Course)))
    )


def courses_of(db: Session, patient_id: uuid.UUID) -> list[Course]:
    """Every course of a patient, oldest first."""
    return list(
        db.scalars(
            select(Course).where(Course.patient_id == patient_id).order_by(*oldest_first(Course))
        )
    )


def _open() -> Any:
    shut = select(CourseEvent.course_id).where(CourseEvent.kind == "closed")
    return select(Course).where(Course.id.not_in(shut))


def has_revision(db: Session, course: Course) -> bool:
    """Whether a regime is set."""
    kept = select(Revision.id).where(
        Revision.course_id == course.id, Revision.cancelled_by_id.is_(None)
    )
    return db.scalars(kept).first() is not None


def hand_and_finger(db: Session, course: Course, now: datetime) -> tuple[str | None, str | None]:
    """('Left hand', 'index and middle finger') by the facts as entered; for staff pages.

    A phone is told these only while `confirmation` holds: use `hand_for_phone`.
    """
    side = facts_in_force(db, course, now).get("side")
    digits = {r.digit for r in repairs_in_force(db, course, now)}
    return (f"{side.capitalize()} hand" if side else None), finger_words(digits)


def hand_for_phone(
    db: Session, course: Course, now: datetime
) -> tuple[str | None, frozenset[str | None]]:
    """Side and repaired digits while a clinician's confirmation holds, otherwise nothing."""
    if confirmation(db, course, now) is None:
        return None, frozenset()
    digits = frozenset(row.digit for row in repairs_in_force(db, course, now))
    return facts_in_force(db, course, now).get("side"), digits


def finger_words(digits: Collection[Digit | str | None]) -> str | None:
    """'index and middle finger', 'thumb', 'wrist' where only a wrist tendon was repaired."""
    if not digits:
        return None
    fingers = [FINGERS[d] for d in DIGITS if d in digits]
    if not fingers:
        return "wrist"
    if len(fingers) == 1:
        return fingers[0]
    return f"{', '.join(fingers[:-1])} and {fingers[-1]}"


def by_id(db: Session, clinic_id: uuid.UUID, course_id: uuid.UUID | str) -> Course:
    """The course of that id in that clinic; NotFound otherwise."""
    return get(db, Course, clinic_id, course_id)


def open_tasks(db: Session, course: Course, kind: str | None = None) -> list[Task]:
    """What staff still must do for the course, the most urgent first."""
    wanted = select(Task).where(Task.course_id == course.id, Task.done_at.is_(None))
    if kind is not None:
        wanted = wanted.where(Task.kind == kind)
    return list(db.scalars(wanted.order_by(Task.due_at, Task.at, Task.id)))
