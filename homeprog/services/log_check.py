"""Keep the answers of the daily check; a 'no' that is trouble is reported as such."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from ..domain.trouble import Kind
from ..storage.bouts import digests, insert_new
from ..storage.contacts import CallersCourse
from ..storage.models import DailyCheck
from ..storage.troubles import reported
from .actor import Actor
from .phone_item import Item, Outcome, seen_before, stored
from .report_trouble import Report, report_trouble

# What a 'no' reports, whatever the phone makes of it: no lifting is ever lost.
IS_TROUBLE: Mapping[str, Kind] = {
    "splint_holds": "splint_does_not_hold",
    "fingers_lift": "finger_no_longer_lifts",
    "band_lifts": "band_no_longer_lifts",
}


def log_check(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    """Store the check of one day once. A 'no' to lifting or holding firmly is a report."""
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
    for kind in _troubles(item.told["answers"], item.told["details"]):
        _report(db, by, course, item, kind, now)
    return stored(item)


def _troubles(answers: Mapping[str, str], details: Mapping[str, Any]) -> Iterator[Kind]:
    """The reports of trouble that these answers are."""
    for key, kind in IS_TROUBLE.items():
        if answers.get(key) == "no":
            yield kind
    if answers.get("splint_on") == "no" and details.get("off_now") is True:
        yield "splint_gone"


def _report(
    db: Session, by: Actor, course: CallersCourse, item: Item, kind: Kind, now: datetime
) -> None:
    """Unless the phone has sent the report of this check itself, as it does."""
    day = item.told["day"].isoformat()
    told = (row.details for row in reported(db, course.course.id, kind))
    if any(d.get("from") == "daily_check" and d.get("day") == day for d in told):
        return
    report = Report(
        uuid.uuid5(item.id, kind),
        kind,
        {"from": "daily_check", "day": day},
        item.entered(course, now),
        item.digest,
    )
    report_trouble(db, by, course, report, now)
