"""Close a course: prompts stop, the phone says whom to ring later."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import get_args

from sqlalchemy.orm import Session

from ..domain.course import Closing
from ..domain.errors import Conflict, Forbidden, Invalid
from ..storage import courses
from ..storage.models import CourseEvent
from .actor import Actor
from .course_changed import course_changed
from .keep_audit import keep

REASONS: tuple[str, ...] = get_args(Closing)


def close_course(
    db: Session, by: Actor, course_id: uuid.UUID | str, reason: str, words: str, now: datetime
) -> CourseEvent:
    """The closing, with its reason. 'opened_in_error' takes the course out of every figure.

    A therapist or a clinician closes; Invalid on an unknown reason, Conflict when closed.
    """
    if by.role != "therapist" and not by.clinician:
        raise Forbidden("role", "Only a therapist or a clinician may close a course.")
    course = courses.by_id(db, by.clinic_id, course_id)
    if courses.closed(db, course, now):
        raise Conflict("course_closed", "This course is closed already.")
    if reason not in REASONS:
        raise Invalid("closing", "The course was not closed.", {"reason": ["Choose why."]})
    if reason == "opened_in_error" and not words.strip():
        raise Invalid("closing", "The course was not closed.", {"words": ["Say what was wrong."]})
    said = CourseEvent(
        clinic_id=by.clinic_id, at=now, course_id=course.id, kind="closed", by_id=by.id,
        figures={"reason": reason, "words": words.strip()},
    )  # fmt: skip
    db.add(said)
    for task in courses.open_tasks(db, course):
        task.done_at, task.done_by_id = now, by.id
    keep(db, by, "closed", course, now)
    course_changed(db, course, now, now)
    return said
