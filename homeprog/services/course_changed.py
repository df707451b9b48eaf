"""What follows every change of a course: days, prompts and the caseload's line."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.models import Course
from ..storage.touches import touch
from .assess_course import assess_course
from .each_apart import apart
from .plan_prompts import plan_prompts
from .refresh_line import show_change


def course_changed(db: Session, course: Course, since: datetime, now: datetime) -> None:
    """Assess the days touched from `since` on, plan the patient's prompts, show it; flushes.

    All of it can be made anew: where it fails, the change itself (a report, a stop flag) stays.
    Days are then left to the minute's job, which tries again.
    """
    db.flush()
    of = f"of course {course.id}"
    if not apart(db, f"days {of}", lambda: assess_course(db, course, now, since=since)):
        touch(db, course.clinic_id, {course.id: since}, now)
    apart(db, f"reminders {of}", lambda: plan_prompts(db, course.patient_id, now))
    apart(db, f"line {of}", lambda: show_change(db, course, now))
