"""A clinician confirms side, digit, structure and regime against a named source."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Invalid
from ..storage import courses
from ..storage.models import Course, CourseEvent
from ..storage.timelines import regime_in_force
from .actor import Actor, require_clinician
from .check_texts import unsigned_texts
from .course_changed import course_changed
from .keep_audit import keep

SOURCES = {
    "operation_note": "the operation note",
    "letter": "the discharge letter",
    "surgeon": "the surgeon, spoken to",
}


def missing_for_confirmation(db: Session, course: Course, now: datetime) -> list[str]:
    """What must be entered before a course can be confirmed, a word each."""
    facts = courses.facts_in_force(db, course, now)
    missing = [] if facts.get("side") else ["side"]
    if not courses.repairs_in_force(db, course, now):
        missing.append("digit and structure")
    if not courses.has_revision(db, course):
        missing.append("regime")
    return missing


def confirm_course(
    db: Session,
    by: Actor,
    course_id: uuid.UUID | str,
    source: str,
    source_words: str,
    now: datetime,
) -> CourseEvent:
    """The confirmation; its id is the question 'Is this your hand?' asked on the phone.

    `source` is one of SOURCES, `source_words` name it (date of the letter, the surgeon's name).
    """
    require_clinician(by, "confirm a course")
    course = courses.by_id(db, by.clinic_id, course_id)
    _refuse(db, course, source, source_words, now)
    said = CourseEvent(
        clinic_id=by.clinic_id, at=now, course_id=course.id, kind="confirmed", by_id=by.id,
        figures={"source": source, "source_words": source_words.strip()},
    )  # fmt: skip
    db.add(said)
    keep(db, by, "confirmed", course, now)
    course_changed(db, course, now, now)
    return said


def _refuse(db: Session, course: Course, source: str, words: str, now: datetime) -> None:
    if courses.closed(db, course, now):
        raise Conflict("course_closed", "This course is closed.")
    if courses.confirmation(db, course, now):
        raise Conflict("confirmed_already", "This course is confirmed already.")
    if missing := missing_for_confirmation(db, course, now):
        raise Conflict(
            "not_ready", f"Before confirming, enter: {', '.join(missing)}.", {"missing": missing}
        )
    if unsigned := _unsigned(db, course, now):
        raise Conflict("texts_unsigned", " ".join(unsigned), {"missing": unsigned})
    faults: dict[str, list[str]] = {}
    if source not in SOURCES:
        faults["source"] = ["Say what you compared it with."]
    if not words.strip():
        faults["source_words"] = ["Name it: the date of the note or letter, or who spoke."]
    if faults:
        raise Invalid("confirmation", "The course was not confirmed.", faults)


def _unsigned(db: Session, course: Course, now: datetime) -> list[str]:
    """Texts of what phase 0 has worn, which comes into force with the confirmation."""
    found = regime_in_force(db, course, now)
    worn = found[1].phase_zero.splint.worn if found else None
    return unsigned_texts(db, course.patient_id, worn, now) if worn else []
