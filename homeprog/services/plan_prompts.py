"""Plan the reminders of one patient for the coming two days; doing it again changes nothing."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.timetable import Member, course_day, lay_out, prompt_groups
from ..storage import prompts
from ..storage.courses import open_courses_of, state
from ..storage.models import Course, Patient, Prompt, PromptSlot
from ..storage.quiet import snoozed_until
from ..storage.sends import send_again
from ..storage.timelines import settings_of

AHEAD = timedelta(hours=48)
BACK = timedelta(days=3)  # laid out from here, so that the day in progress is whole

Plan = Mapping[datetime, tuple[Member, ...]]  # due_at -> its slots


def plan_prompts(db: Session, patient_id: uuid.UUID, now: datetime) -> None:
    """Write prompts, their slots and their sends 48 h ahead; withdraw what is planned no more.

    What fell due before `now` is history and stays, but a slot yet to start may still join it,
    and while 'in 15 minutes' runs, what was sent for a slot in progress falls due again at its end.
    """
    patient = prompts.locked_patient(db, patient_id)
    until = now + AHEAD
    plan = _plan(db, patient_id, now, until)
    for prompt in prompts.standing(db, patient_id, now, until):
        if prompt.due_at not in plan:
            prompt.withdrawn_at = now
    kept = _keep(db, patient, plan, now)
    _join(db, kept, plan, now)
    due = {prompt.id: prompt.due_at for prompt in kept.values()}
    prompts.add_sends(db, due, prompts.phones_with_push(db, patient_id), patient.clinic_id, now)
    if snoozed := snoozed_until(db, patient_id, now):
        send_again(db, patient_id, snoozed, now)
    db.flush()


def _plan(db: Session, patient_id: uuid.UUID, now: datetime, until: datetime) -> Plan:
    """The groups that have a slot yet to start, reckoned from the waking of the day on."""
    groups = reminders(db, patient_id, now, until, now)
    return {due: group for due, group in groups.items() if group[-1][1].start >= now}


def reminders(
    db: Session, patient_id: uuid.UUID, since: datetime, until: datetime, now: datetime
) -> Plan:
    """When reminders fall due, and for which slots, from the course day of `since` on."""
    members: list[Member] = []
    for course in open_courses_of(db, patient_id):
        if state(db, course, now) == "confirmed":
            members += _members(db, course, since, until, now)
    return dict(prompt_groups(members))


def _members(
    db: Session, course: Course, since: datetime, until: datetime, now: datetime
) -> Iterable[Member]:
    settings = settings_of(db, course, now)
    if not settings:
        return []
    first = course_day(settings, since)
    slots = lay_out(settings, until, since=since - BACK)
    return [(str(course.id), slot) for slot in slots if slot.date >= first]


def _keep(db: Session, patient: Patient, plan: Plan, now: datetime) -> dict[datetime, Prompt]:
    """The plan's prompt rows; one that was withdrawn and is planned again stands again."""
    ends = {due: max(slot.end for _, slot in group) for due, group in plan.items()}
    rows = [
        {
            "patient_id": patient.id,
            "clinic_id": patient.clinic_id,
            "due_at": due,
            "ends_at": end,
            "at": now,
        }
        for due, end in ends.items()
    ]
    prompts.insert_or_nothing(db, Prompt, rows)
    kept = prompts.by_due(db, patient.id, ends)
    for due, prompt in kept.items():
        prompt.withdrawn_at = None
        prompt.ends_at = ends[due]
    return kept


def _join(db: Session, kept: Mapping[datetime, Prompt], plan: Plan, now: datetime) -> None:
    """Tie each slot to its prompt, moving one whose prompt has changed."""
    wanted = {
        (uuid.UUID(course), slot.exercise, slot.start): kept[due]
        for due, group in plan.items()
        for course, slot in group
    }
    if not wanted:
        return
    earliest = min(start for _, _, start in wanted)
    there = prompts.slots_from(db, {course for course, _, _ in wanted}, earliest)
    for key in wanted.keys() & there.keys():
        there[key].prompt_id = wanted[key].id
    rows = [
        {
            "prompt_id": prompt.id,
            "clinic_id": prompt.clinic_id,
            "course_id": course,
            "exercise": exercise,
            "slot_start": start,
            "at": now,
        }
        for (course, exercise, start), prompt in wanted.items()
    ]
    prompts.insert_or_nothing(db, PromptSlot, rows)
