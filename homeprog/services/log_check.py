"""Keep the answers of the daily check; a splint that does not hold is trouble."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.bouts import digests, insert_new
from ..storage.contacts import CallersCourse
from ..storage.models import DailyCheck
from ..storage.troubles import reported
from .actor import Actor
from .phone_item import Item, Outcome, seen_before, stored
from .report_trouble import Report, report_trouble

DOES_NOT_HOLD = "splint_does_not_hold"


def log_check(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    """Store the check of one day once. A 'no' to 'does the splint hold' opens an alert."""
    row = {
        "id": item.id,
        "at": now,
        "clinic_id": by.clinic_id,
        "course_id": course.course.id,
        "day": item.told["day"],
        "answers": item.told["answers"],
        "details": item.told["details"],
        "average_pain": item.told["average_pain"],
        "entered_at": item.entered(course, now),
        "device_id": by.id,
        "digest": item.digest,
    }
    if not insert_new(db, DailyCheck, [row]):
        return seen_before(item, digests(db, DailyCheck, [item.id]).get(item.id))
    if item.told["answers"].get("splint_holds") == "no":
        _report_splint(db, by, course, item, now)
    return stored(item)


def _report_splint(
    db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime
) -> None:
    """Unless the phone has sent the report of this check itself."""
    day = item.told["day"].isoformat()
    told = (row.details for row in reported(db, course.course.id, DOES_NOT_HOLD))
    if any(d.get("from") == "daily_check" and d.get("day") == day for d in told):
        return
    report = Report(
        uuid.uuid5(item.id, DOES_NOT_HOLD),
        "splint_does_not_hold",
        {"from": "daily_check", "day": day},
        item.entered(course, now),
        item.digest,
    )
    report_trouble(db, by, course, report, now)
