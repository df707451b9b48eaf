"""What follows every change of a course: days, prompts and the caseload's line."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.models import Course
from .assess_course import assess_course
from .plan_prompts import plan_prompts
from .refresh_line import show_change


def course_changed(db: Session, course: Course, since: datetime, now: datetime) -> None:
    """Assess the days touched from `since` on, plan the patient's prompts, show it; flushes."""
    db.flush()
    assess_course(db, course, now, since=since)
    plan_prompts(db, course.patient_id, now)
    show_change(db, course, now)
