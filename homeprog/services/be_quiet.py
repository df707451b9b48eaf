"""Keep a patient's wish for quiet: for a while, every week, or fewer reminders; and end one."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from ..domain.errors import NotFound
from ..storage import quiet, scope
from ..storage.contacts import CallersCourse
from ..storage.models import Quiet
from .actor import Actor
from .answer_phone import once
from .phone_item import Item, Outcome
from .plan_prompts import plan_prompts

LONGEST_QUIET = timedelta(hours=4)
A_WHILE = {"in_15_minutes": "snooze", "until": "until"}


def be_quiet(db: Session, by: Actor, course: CallersCourse, item: Item, now: datetime) -> Outcome:
    """Mute reminders of all the patient's courses; slots stay due and are marked muted.

    A while is at most 4 h and ends by itself; weekly times and 'fewer' stand until ended, and
    'fewer' takes the place of the one before. The row bears the item's id: by it a phone ends it.
    """

    def act(entered: datetime) -> None:
        if item.told["kind"] == "end":
            _end(db, by, course, item.told["ends"], entered)
        elif item.told["kind"] in A_WHILE:
            _for_a_while(db, by, course, item, entered, now)
        else:
            _until_ended(db, by, course, item, entered, now)
        db.flush()

    return once(db, by, course, item, now, act)


def _for_a_while(
    db: Session, by: Actor, course: CallersCourse, item: Item, entered: datetime, now: datetime
) -> None:
    ends = min(item.told["until"], entered + LONGEST_QUIET)
    if ends <= entered:
        return
    kind = A_WHILE[item.told["kind"]]
    db.add(_row(by, course, item, now, kind=kind, starts=entered, ends=ends))
    db.flush()
    plan_prompts(db, course.course.patient_id, now)


def _until_ended(
    db: Session, by: Actor, course: CallersCourse, item: Item, entered: datetime, now: datetime
) -> None:
    told = item.told
    if told["kind"] == "fewer":
        for earlier in quiet.in_force(db, course.course.patient_id, now):
            if earlier.kind == "fewer":
                earlier.ends = max(entered, earlier.starts)
    said = {key: told[key] for key in ("weekday", "opens", "closes", "fewer")}
    db.add(_row(by, course, item, now, kind=told["kind"], starts=entered, ends=None, **said))


def _row(by: Actor, course: CallersCourse, item: Item, now: datetime, **said: Any) -> Quiet:
    patient = course.course.patient_id
    return Quiet(id=item.id, at=now, clinic_id=by.clinic_id, patient_id=patient, **said)


def _end(
    db: Session, by: Actor, course: CallersCourse, quiet_id: uuid.UUID, entered: datetime
) -> None:
    """End it from `entered` on; one that is over stays as it was."""
    row = scope.get(db, Quiet, by.clinic_id, quiet_id)
    if row.patient_id != course.course.patient_id:
        raise NotFound("quiet")
    if row.ends is None or row.ends > entered:
        row.ends = max(entered, row.starts)
