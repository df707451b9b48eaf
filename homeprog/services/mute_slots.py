"""Which reminders a patient's wishes for quiet mute; the slots stay due."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.timetable import Member
from ..domain.timetable.quiet import mutes, rings
from ..storage import quiet
from ..storage.timelines import zone_at
from .plan_prompts import Plan, reminders

DAY = timedelta(days=1)
Muted = frozenset[tuple[str, str, datetime]]  # course id, exercise, slot start


def muted_slots(
    db: Session, patient_id: uuid.UUID, since: datetime, until: datetime, now: datetime
) -> Muted:
    """The slots of all the patient's courses from `since` to `until` whose reminder is muted."""
    wishes = quiet.wishes(db, patient_id, since, now)
    if not wishes:
        return frozenset()
    plan = reminders(db, patient_id, since, until + DAY, now)
    zone, days = zone_at(db, patient_id, now), _days(plan)
    return frozenset(
        (course, slot.exercise, slot.start)
        for due, group in plan.items()
        if mutes(wishes, due, days[_day(group)], zone)
        for course, slot in group
    )


def thinned_out(db: Session, patient_id: uuid.UUID, due: datetime, now: datetime) -> bool:
    """Whether 'fewer reminders' leaves out the one that falls due at `due`."""
    fewer = quiet.fewer_at(db, patient_id, due, now)
    if fewer is None:
        return False
    plan = reminders(db, patient_id, due, due + DAY, now)
    return due in plan and due not in rings(_days(plan)[_day(plan[due])], fewer)


def _day(group: tuple[Member, ...]) -> date:
    return group[0][1].date


def _days(plan: Plan) -> Mapping[date, list[datetime]]:
    """The reminders of each course day, ascending."""
    days: dict[date, list[datetime]] = {}
    for due in sorted(plan):
        days.setdefault(_day(plan[due]), []).append(due)
    return days
