"""What enrolment knows of a course, as the rules for a regime want it."""

from __future__ import annotations

from datetime import datetime
from typing import cast

from sqlalchemy.orm import Session

from ..domain.course import Digit, Joint, Structure, Zone, joints_of
from ..domain.regime import Repair, RepairFacts
from .courses import facts_in_force, repairs_in_force
from .models import Course
from .models import Repair as RepairRow
from .timelines import settings_of


def repair_facts(db: Session, course: Course, now: datetime) -> RepairFacts:
    """The facts in force at `now`; what was not entered has its default."""
    facts = facts_in_force(db, course, now)
    week = settings_of(db, course, now)[-1].week
    return RepairFacts(
        operation=facts["operation_date"],
        side=facts.get("side") or "left",
        repairs=tuple(_repair(row) for row in repairs_in_force(db, course, now)),
        with_it=frozenset(facts.get("with_it") or ()),
        age_group=facts.get("age_group") or "adult",
        follows_plan=facts.get("follows_plan") or "alone",
        weakens=frozenset(facts.get("weakens") or ()),
        worn=facts.get("worn"),
        waking=tuple(dict.fromkeys((day.wake, day.sleep) for day in week)),
    )


def _repair(row: RepairRow) -> Repair:
    digit = cast("Digit | None", row.digit)
    joint = cast("Joint | None", row.joint)
    return Repair(
        structure=cast(Structure, row.structure),
        zone=cast(Zone, row.zone),
        digit=digit,
        joint=joint,
        wired=_wired(digit, joint) if row.wired else (),
        nerve=row.nerve,
        cut_in_part=row.cut_in_part is not None,
        cut_percent=row.cut_in_part or None,
    )


def _wired(digit: Digit | None, joint: Joint | None) -> tuple[Joint, ...]:
    """The joint named, else every joint of the digit: none may move until it is said which."""
    if joint:
        return (joint,)
    return joints_of(digit) if digit else ("wrist",)
