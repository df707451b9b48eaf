"""What is still missing of an enrolment, part by part."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from . import courses, patients
from .models import Course

CLINICIANS: Mapping[str, str] = {
    "worn": "what is worn now",
    "handedness": "handedness",
    "age_group": "age group",
    "follows_plan": "can follow the plan",
    "therapist": "responsible therapist",
    "surgeon": "surgeon",
}


@dataclass(frozen=True, slots=True)
class Missing:
    """What each part still lacks, in words; both empty when the enrolment is whole."""

    clerk: tuple[str, ...]
    clinician: tuple[str, ...]


def missing(db: Session, course: Course, now: datetime) -> Missing:
    """What the clerk's and the clinician's part of a course still lack."""
    facts = courses.facts_in_force(db, course, now)
    clinician = [words for what, words in CLINICIANS.items() if not facts.get(what)]
    if not courses.repairs_in_force(db, course, now):
        clinician.insert(0, "digit and structure")
    if not courses.has_revision(db, course):
        clinician.append("regime")
    if courses.confirmation(db, course, now) is None:
        clinician.append("confirmation")
    return Missing(tuple(_clerk(db, course.patient_id, facts, now)), tuple(clinician))


def _clerk(
    db: Session, patient_id: uuid.UUID, facts: Mapping[str, object], now: datetime
) -> list[str]:
    contacts = patients.contacts(db, patient_id, now)
    held = {
        "hospital number": patients.number_of(db, patient_id),
        "side": facts.get("side"),
        "telephone": contacts.get("patient"),
        "consent": patients.consent(db, patient_id, now),
        "a phone paired": patients.paired(db, patient_id),
    }
    return [words for words, value in held.items() if not value]
