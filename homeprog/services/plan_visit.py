"""Enter the next visit: its date and the stage it is for."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Invalid
from ..domain.timetable import course_day
from ..storage import scope
from ..storage.courses import state
from ..storage.models import Course, Visit, VisitEvent
from ..storage.timelines import regime_in_force, settings_of
from ..storage.visits import next_visit
from .actor import Actor, require_role
from .course_changed import course_changed
from .keep_audit import keep

FURTHEST = timedelta(days=366)


def plan_visit(
    db: Session,
    by: Actor,
    course_id: uuid.UUID,
    planned: date,
    now: datetime,
    for_phase: str | None = None,
    time_of_day: str | None = None,
) -> Visit:
    """The course's next visit; one entered before that was still to come is moved.

    `for_phase` is the key of the stage whose release it is for. Raises Invalid by field.
    """
    require_role(by, "enroller", "therapist", "manager")
    course = scope.get(db, Course, by.clinic_id, course_id)
    if state(db, course, now) == "closed":
        raise Conflict("course_closed", "This course is closed.")
    _refuse(db, course, planned, for_phase, now)
    earlier = next_visit(db, course, now)
    if earlier is not None:
        db.add(_moved(earlier, by, planned, now))
    visit = Visit(
        at=now, clinic_id=course.clinic_id, course_id=course.id, planned=planned,
        planned_time=time_of_day or None, kind="gate" if for_phase else "review",
        for_phase=for_phase or None, by_id=by.id,
    )  # fmt: skip
    db.add(visit)
    keep(db, by, "visit_planned", visit, now)
    course_changed(db, course, now, now)
    return visit


def _refuse(
    db: Session, course: Course, planned: date, for_phase: str | None, now: datetime
) -> None:
    fields: dict[str, list[str]] = {}
    today = course_day(settings_of(db, course, now), now)
    if not today <= planned <= today + FURTHEST:
        fields["planned"] = ["Today or later, within a year."]
    found = regime_in_force(db, course, now)
    if for_phase and (found is None or found[1].phase(for_phase) is None):
        fields["for_phase"] = ["No such stage in the regime."]
    if fields:
        raise Invalid("visit_invalid", "This visit cannot be entered so.", fields)


def _moved(visit: Visit, by: Actor, planned: date, now: datetime) -> VisitEvent:
    return VisitEvent(
        at=now, clinic_id=visit.clinic_id, visit_id=visit.id, what="moved",
        figures={"to": planned.isoformat()}, by_id=by.id,
    )  # fmt: skip
