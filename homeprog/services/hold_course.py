"""Hold a course or one exercise, and resume it."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Forbidden, Invalid
from ..domain.hold import HoldKind
from ..storage import scope
from ..storage.clinics import settings
from ..storage.courses import confirmation, state
from ..storage.models import Course, HoldEnd, HoldRow, Task, TroubleReport
from .actor import Actor, require_clinician
from .course_changed import course_changed
from .keep_audit import keep

PAUSE_TASK = "pause_end"


def hold_course(
    db: Session,
    by: Actor,
    course_id: uuid.UUID,
    kind: str,
    reason: str,
    now: datetime,
    exercise: str | None = None,
    trouble: TroubleReport | uuid.UUID | None = None,
    planned_end: datetime | None = None,
    starts: datetime | None = None,
) -> HoldRow:
    """Hold the course, or one exercise of it; slots are excused until a HoldEnd.

    `starts` may be before `now` (a stop flag reached the phone earlier). A pause has an end (3
    days on unless chosen, at most 14: settings), which is a task: it does not resume by itself.
    Invalid names the fields.
    """
    course = scope.get(db, Course, by.clinic_id, course_id)
    if state(db, course, now) == "closed":
        raise Conflict("course_closed", "This course is closed.")
    begins = starts or now
    usual, longest = pause_days(db, course.clinic_id, now)
    if kind == "pause":
        planned_end = planned_end or begins + timedelta(days=usual)
    _refuse(kind, reason, begins, planned_end, longest)
    hold = HoldRow(
        at=now, clinic_id=by.clinic_id, course_id=course.id, exercise=exercise, kind=kind,
        starts=begins, planned_end=planned_end, reason=reason.strip(),
        by_id=by.id if by.kind == "staff" else None,
        trouble_id=trouble.id if isinstance(trouble, TroubleReport) else trouble,
    )  # fmt: skip
    db.add(hold)
    if planned_end is not None and kind == "pause":
        db.add(_pause_task(course, planned_end, now))
    keep(db, by, "held", hold, now)
    course_changed(db, course, begins, now)
    return hold


def pause_days(db: Session, clinic_id: uuid.UUID, now: datetime) -> tuple[int, int]:
    """Days a pause lasts unless another end is chosen, and at most."""
    own = settings(db, clinic_id, now)
    return int(own["pause_days"]), int(own["pause_longest_days"])


def _refuse(
    kind: str, reason: str, begins: datetime, planned_end: datetime | None, longest: int
) -> None:
    fields: dict[str, list[str]] = {}
    if kind not in get_args(HoldKind):
        fields["kind"] = [f"Known: {', '.join(get_args(HoldKind))}."]
    if not reason.strip():
        fields["reason"] = ["Say why."]
    if planned_end is not None and not begins < planned_end <= begins + timedelta(days=longest):
        fields["planned_end"] = [f"After it begins, and within {longest} days."]
    if fields:
        raise Invalid("hold_invalid", "This hold cannot be meant.", fields)


def _pause_task(course: Course, due: datetime, now: datetime) -> Task:
    return Task(
        at=now, clinic_id=course.clinic_id, course_id=course.id, kind=PAUSE_TASK,
        words="The pause ends: resume, or say why it goes on.", due_at=due,
    )  # fmt: skip


def resume(db: Session, by: Actor, hold_id: uuid.UUID, reason: str, now: datetime) -> HoldEnd:
    """End a hold, with a reason. Only a clinician ends one that is not a pause.

    A hold until release after a corrected fact stands until the course is confirmed again.
    """
    hold = scope.get(db, HoldRow, by.clinic_id, hold_id)
    course = scope.get(db, Course, by.clinic_id, hold.course_id)
    _refuse_resuming(db, by, hold, reason)
    if hold.kind == "until_release" and confirmation(db, course, now) is None:
        raise Conflict("confirm_again", "Facts were corrected: confirm the course again first.")
    end = end_hold(db, by, hold, reason, now)
    keep(db, by, "resumed", hold, now)
    course_changed(db, course, hold.starts, now)
    return end


def _refuse_resuming(db: Session, by: Actor, hold: HoldRow, reason: str) -> None:
    if hold.kind != "pause":
        require_clinician(by, "resume the exercises")
    if by.kind != "staff":
        raise Forbidden("staff_only", "Only staff may resume the exercises.")
    if not reason.strip():
        raise Invalid("reason_missing", "Say why.", {"reason": ["Say why."]})
    if db.scalars(select(HoldEnd).where(HoldEnd.hold_id == hold.id)).first():
        raise Conflict("hold_ended", "This hold has been ended.")


def end_hold(db: Session, by: Actor, hold: HoldRow, reason: str, ends: datetime) -> HoldEnd:
    """The row that ends a hold; a pause's task is done with it. Calls nothing that follows."""
    end = HoldEnd(
        at=ends, clinic_id=hold.clinic_id, hold_id=hold.id, ends=ends, reason=reason.strip(),
        by_id=by.id,
    )  # fmt: skip
    db.add(end)
    tasks = select(Task).where(
        Task.course_id == hold.course_id, Task.kind == PAUSE_TASK,
        Task.due_at == hold.planned_end, Task.done_at.is_(None),
    )  # fmt: skip
    for task in db.scalars(tasks) if hold.kind == "pause" else ():
        task.done_at, task.done_by_id = ends, by.id
    return end
