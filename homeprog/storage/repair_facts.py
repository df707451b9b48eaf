"""What enrolment knows of a course, as the rules for a regime want it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.regime import RepairFacts
from .courses import facts_in_force, repairs_in_force
from .models import Course
from .timelines import settings_of


def repair_facts(db: Session, course: Course, now: datetime) -> RepairFacts:
    """The facts in force at `now`; what was not entered has its default."""
    facts = facts_in_force(db, course, now)
    week = settings_of(db, course, now)[-1].week
    return RepairFacts(
        operation=facts["operation_date"],
        side=facts.get("side") or "left",
        repairs=repairs_in_force(db, course, now),
        with_it=frozenset(facts.get("with_it") or ()),
        age_group=facts.get("age_group") or "adult",
        follows_plan=facts.get("follows_plan") or "alone",
        weakens=frozenset(facts.get("weakens") or ()),
        worn=facts.get("worn"),
        waking=tuple(dict.fromkeys((day.wake, day.sleep) for day in week)),
    )
