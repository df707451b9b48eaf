"""Mark the next visit as kept, missed or cancelled."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Literal

from sqlalchemy.orm import Session

from ..domain.clock import local
from ..domain.errors import Conflict, Forbidden, Invalid
from ..storage import clinics, scope
from ..storage.models import Course, Visit, VisitEvent
from ..storage.visits import next_visit
from .actor import Actor, require_role
from .course_changed import course_changed
from .keep_audit import keep

Became = Literal["kept", "missed", "cancelled"]
BECAME: tuple[Became, ...] = ("kept", "missed", "cancelled")
EXAMINED = "examined"  # of a kept visit's figures: a clinician had the hand examined


def mark_visit(
    db: Session, by: Actor, visit_id: uuid.UUID | str, what: str, now: datetime,
    examined: bool = False,
) -> VisitEvent:  # fmt: skip
    """What became of the course's next visit; it is the next one no more.

    Raises Conflict for one that is marked or moved already, Invalid before its day (but for a
    cancelled one), Forbidden where another than a clinician says that the hand was examined.
    """
    require_role(by, "enroller", "therapist", "manager")
    visit = scope.get(db, Visit, by.clinic_id, visit_id)
    course = db.get_one(Course, visit.course_id)
    held = next_visit(db, course, now)
    if held is None or held.id != visit.id:
        raise Conflict("visit_over", "This visit is marked already, or was moved.")
    _refuse(db, by, visit, what, examined, now)
    event = VisitEvent(
        at=now, clinic_id=visit.clinic_id, visit_id=visit.id, what=what, by_id=by.id,
        figures={EXAMINED: True} if examined else {},
    )  # fmt: skip
    db.add(event)
    keep(db, by, f"visit_{what}", visit, now)
    course_changed(db, course, now, now)
    return event


def _refuse(db: Session, by: Actor, visit: Visit, what: str, examined: bool, now: datetime) -> None:
    fields: dict[str, list[str]] = {}
    today = local(now, clinics.clinic_of(db, visit.clinic_id).zone).date()
    if what not in BECAME:
        fields["what"] = ["Say kept, missed or cancelled."]
    elif what != "cancelled" and visit.planned > today:
        fields["what"] = ["Its day has not come. Enter another date, or cancel it."]
    if fields:
        raise Invalid("visit_invalid", "This visit cannot be marked so.", fields)
    if examined and (what != "kept" or not by.clinician):
        raise Forbidden("clinician_only", "Only a clinician examines the hand, at a kept visit.")
