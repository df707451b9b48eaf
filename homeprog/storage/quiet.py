"""A patient's wishes for quiet: when reminders are muted."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import datetime
from typing import cast

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from ..domain.clock import local
from ..domain.timetable.quiet import Fewer, Wish, weekly
from .models import Quiet
from .timelines import zone_at


def muted(db: Session, patient_id: uuid.UUID, now: datetime) -> bool:
    """Whether reminders are muted at `now`: 'quiet until', or a weekly quiet time."""
    rows = in_force(db, patient_id, now)
    if any(row.kind in ("until", "snooze") for row in rows):
        return True
    often = [wish(row) for row in rows if row.kind == "weekly"]
    if not often:
        return False
    wall = local(now, zone_at(db, patient_id, now))
    return any(weekly(each, wall) for each in often)


def snoozed_until(db: Session, patient_id: uuid.UUID, now: datetime) -> datetime | None:
    """When 'in 15 minutes' is over; None where it was not asked for."""
    rows = in_force(db, patient_id, now)
    return max((row.ends for row in rows if row.kind == "snooze" and row.ends), default=None)


def fewer_at(db: Session, patient_id: uuid.UUID, at: datetime, now: datetime) -> Fewer | None:
    """How reminders are thinned out at `at`, as known at `now`; None where they are not."""
    found = [each.fewer for each in wishes(db, patient_id, at, now) if each.holds(at)]
    return next((fewer for fewer in reversed(found) if fewer is not None), None)


def wishes(db: Session, patient_id: uuid.UUID, since: datetime, now: datetime) -> list[Wish]:
    """The wishes in force at `since` or later, as known at `now`; 'in 15 minutes' is none."""
    rows = db.scalars(
        select(Quiet)
        .where(
            Quiet.patient_id == patient_id,
            Quiet.at <= now,
            Quiet.kind != "snooze",
            or_(Quiet.ends.is_(None), Quiet.ends > since),
        )
        .order_by(Quiet.starts, Quiet.at, Quiet.id)
    )
    return [wish(row) for row in rows]


def in_force(db: Session, patient_id: uuid.UUID, now: datetime) -> Sequence[Quiet]:
    """The rows in force at `now`, oldest first."""
    rows = db.scalars(
        select(Quiet)
        .where(Quiet.patient_id == patient_id, Quiet.at <= now, Quiet.starts <= now)
        .order_by(Quiet.starts, Quiet.at, Quiet.id)
    )
    return [row for row in rows if row.ends is None or now < row.ends]


def wish(row: Quiet) -> Wish:
    """What a row means."""
    fewer = cast("Fewer | None", row.fewer)
    return Wish(row.kind, row.starts, row.ends, row.weekday, row.opens, row.closes, fewer)
