"""Enter and correct a course's facts: new rows, never changed ones.

A corrected date, side, digit or structure of a confirmed course opens a hold until release, and
the course must be confirmed, and the hand read back, anew.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from ..domain.clock import local
from ..domain.errors import Conflict, Invalid
from ..storage import clinics, courses
from ..storage import staff as stored
from ..storage.models import Course, CourseEvent, CourseFact, Patient, Repair
from ..storage.scope import get
from .actor import Actor
from .check_facts import Faults, RepairEntry, fact_faults, repair_faults
from .check_texts import unsigned_texts
from .course_changed import course_changed
from .hold_course import hold_course
from .keep_audit import keep

BINDING = ("operation_date", "side")  # with the repairs' digits and structures


def correct_facts(
    db: Session,
    by: Actor,
    course_id: uuid.UUID | str,
    facts: Mapping[str, Any],
    now: datetime,
    repairs: Sequence[RepairEntry] | None = None,
    reason: str = "",
) -> list[str]:
    """Keep what differs from the facts in force; the names of what was changed.

    Facts left out, and `repairs` None, stay. Invalid, a message a field; Conflict on a closed
    course.
    """
    course = courses.by_id(db, by.clinic_id, course_id)
    if courses.closed(db, course, now):
        raise Conflict("course_closed", "This course is closed.")
    changed, new_repairs = _differences(db, course, facts, repairs, now)
    faults = faults_of(db, by, course, changed, now) | repair_faults(new_repairs or ())
    if new_repairs is not None and not new_repairs:
        faults["repairs"] = ["A course keeps at least one repair: change it, do not empty it."]
    holds = courses.state(db, course, now) == "confirmed" and _binds(
        db, course, changed, new_repairs, now
    )
    if holds and not reason.strip():
        faults["reason"] = ["Say why: exercises stop until a clinician confirms and releases."]
    if faults:
        raise Invalid("facts", "The facts were not saved.", faults)
    _write(db, by, course, changed, new_repairs, reason, now)
    names = [*changed, *(["repairs"] if new_repairs is not None else [])]
    if holds:
        _hold(db, by, course, names, reason, now)
    elif names:
        course_changed(db, course, now, now)
    return names


def faults_of(
    db: Session, by: Actor, course: Course, facts: Mapping[str, Any], now: datetime
) -> Faults:
    """What is wrong with these facts for this course."""
    patient = get(db, Patient, by.clinic_id, course.patient_id)
    people = {s.id: s.name for s in stored.clinicians(db, by.clinic_id, now)}
    known = courses.facts_in_force(db, course, now)
    given = {"operation_date_reason": known.get("operation_date_reason")} | dict(facts)
    if given["operation_date_reason"] is None:
        del given["operation_date_reason"]
    faults = fact_faults(given, today(db, by.clinic_id, now), patient.born, people)
    if "worn" not in facts or "worn" in faults:
        return faults
    unsigned = unsigned_texts(db, patient.id, facts["worn"], now)
    return faults | ({"worn": unsigned} if unsigned else {})


def today(db: Session, clinic_id: uuid.UUID, now: datetime) -> date:
    """The date by the clinic's clock."""
    return local(now, clinics.clinic_of(db, clinic_id).zone).date()


def _differences(
    db: Session,
    course: Course,
    facts: Mapping[str, Any],
    repairs: Sequence[RepairEntry] | None,
    now: datetime,
) -> tuple[dict[str, Any], Sequence[RepairEntry] | None]:
    known = courses.facts_in_force(db, course, now)
    changed = {what: value for what, value in facts.items() if known.get(what) != _kept(value)}
    same = repairs is None or set(repairs) == set(entries(db, course, now))
    return changed, None if same else repairs


def _kept(value: Any) -> Any:
    """As `facts_in_force` gives it back."""
    return tuple(value) if isinstance(value, list | set | frozenset) else value


def entries(db: Session, course: Course, now: datetime) -> list[RepairEntry]:
    """The repairs in force as they were entered."""
    return [
        RepairEntry(r.structure, r.zone, r.digit, r.joint, r.wired, r.nerve, r.cut_in_part)
        for r in courses.repairs_in_force(db, course, now)
    ]


def _binds(
    db: Session,
    course: Course,
    changed: Mapping[str, Any],
    repairs: Sequence[RepairEntry] | None,
    now: datetime,
) -> bool:
    """Whether a fact a clinician confirmed is corrected; any change of the repairs is one."""
    return repairs is not None or any(what in changed for what in BINDING)


def _write(
    db: Session,
    by: Actor,
    course: Course,
    changed: Mapping[str, Any],
    repairs: Sequence[RepairEntry] | None,
    reason: str,
    now: datetime,
) -> None:
    own = {"clinic_id": by.clinic_id, "at": now, "course_id": course.id}
    for what, value in changed.items():
        plain = value.isoformat() if isinstance(value, date) else value
        plain = list(plain) if isinstance(plain, tuple | set | frozenset) else plain
        db.add(
            CourseFact(**own, what=what, value={"is": plain}, reason=reason or None, by_id=by.id)
        )
    set_id = uuid.uuid4()
    for r in repairs or ():
        db.add(
            Repair(
                **own, set_id=set_id, digit=r.digit, structure=r.structure, zone=r.zone,
                joint=r.joint, wired=r.wired, nerve=r.nerve, cut_in_part=r.cut_in_part,
            )
        )  # fmt: skip
    keep(db, by, "facts_entered", course, now)
    db.flush()


def _hold(
    db: Session, by: Actor, course: Course, names: Sequence[str], reason: str, now: datetime
) -> None:
    kind = "date_corrected" if "operation_date" in names else "facts_corrected"
    db.add(
        CourseEvent(
            clinic_id=by.clinic_id, at=now, course_id=course.id, kind=kind,
            figures={"changed": list(names)}, by_id=by.id,
        )
    )  # fmt: skip
    db.flush()
    words = ", ".join(name.replace("_", " ") for name in names)
    hold_course(db, by, course.id, "until_release", f"Corrected: {words}. {reason}", now)
