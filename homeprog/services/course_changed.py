"""What follows every change of a course: days are assessed anew, prompts are planned anew."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.models import Course
from .assess_course import assess_course
from .plan_prompts import plan_prompts


def course_changed(db: Session, course: Course, since: datetime, now: datetime) -> None:
    """Assess the days touched from `since` on and plan the patient's prompts; flushes."""
    db.flush()
    assess_course(db, course, now, since=since)
    plan_prompts(db, course.patient_id, now)
