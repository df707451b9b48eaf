"""Sum up at once what phones have touched, for whoever cannot wait for the minute's job."""

from __future__ import annotations

import logging
import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.models import Course
from ..storage.touches import touched
from .assess_course import assess_course

log = logging.getLogger(__name__)


def catch_up(db: Session, patient_id: uuid.UUID, now: datetime) -> None:
    """Sum up the patient's courses that are behind what was stored by `now`; flushes.

    Figures are derived: one that cannot be made now is left to the minute's job.
    """
    for course_id in touched(db, patient_id, now):
        try:
            with db.begin_nested():
                assess_course(db, db.get_one(Course, course_id), now)
        except Exception as error:  # no patient is named
            log.error("catch up, course %s: %s", course_id, type(error).__name__)
