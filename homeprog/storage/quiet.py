"""When a patient's reminders are muted."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.clock import local
from .models import Quiet
from .timelines import zone_at


def muted(db: Session, patient_id: uuid.UUID, now: datetime) -> bool:
    """Whether reminders are muted at `now`: 'quiet until', or a weekly quiet time."""
    rows = _in_force(db, patient_id, now)
    if any(row.kind in ("until", "snooze") for row in rows):
        return True
    weekly = [row for row in rows if row.kind == "weekly"]
    if not weekly:
        return False
    wall = local(now, zone_at(db, patient_id, now))
    return any(_weekly(row, wall) for row in weekly)


def snoozed_until(db: Session, patient_id: uuid.UUID, now: datetime) -> datetime | None:
    """When 'in 15 minutes' is over; None where it was not asked for."""
    rows = _in_force(db, patient_id, now)
    return max((row.ends for row in rows if row.kind == "snooze" and row.ends), default=None)


def _in_force(db: Session, patient_id: uuid.UUID, now: datetime) -> list[Quiet]:
    rows = db.scalars(
        select(Quiet).where(Quiet.patient_id == patient_id, Quiet.at <= now, Quiet.starts <= now)
    )
    return [row for row in rows if row.ends is None or now < row.ends]


def _weekly(row: Quiet, wall: datetime) -> bool:
    """Whether `wall` lies in [opens, closes) of a weekday; closes may be the next day."""
    if row.weekday is None or row.opens is None or row.closes is None:
        return False
    at, today = wall.time(), wall.weekday()
    if row.opens < row.closes:
        return today == row.weekday and row.opens <= at < row.closes
    evening = today == row.weekday and at >= row.opens
    return evening or (today == (row.weekday + 1) % 7 and at < row.closes)
