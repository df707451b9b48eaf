"""Courses the minute's jobs have not got to: their figures and alerts may be missing."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select, union_all
from sqlalchemy.orm import Session

from .models import CaseloadLine, DaySummaryRow, Touch

LATE = timedelta(minutes=15)  # a tick is a minute; a restart takes a few


def behind(db: Session, clinic_id: uuid.UUID, now: datetime) -> dict[uuid.UUID, datetime]:
    """Open course -> since when it waits to be looked at, where that is 15 minutes or more.

    It waits because the jobs do not run, or because one of them fails in this course: a day has
    begun, a slot has passed or a phone has stored something, and nothing followed.
    """
    late = now - LATE
    here, line = CaseloadLine.clinic_id == clinic_id, CaseloadLine.course_id  # open ones have one
    waits: Sequence[Any] = db.execute(
        union_all(
            select(line, CaseloadLine.next_at).where(here, CaseloadLine.next_at < late),
            select(line, DaySummaryRow.next_at)
            .join(DaySummaryRow, DaySummaryRow.course_id == line)
            .where(here, DaySummaryRow.next_at < late),
            select(line, Touch.at)
            .join(Touch, Touch.course_id == line)
            .where(here, Touch.at < late),
        )
    ).all()
    found: dict[uuid.UUID, datetime] = {}
    for course, at in waits:
        found[course] = min(at, found.get(course, at))
    return found
