"""End a staff member's employment: sign-ins end at once, what they had taken up goes on."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict
from ..storage import alerts, caseloads, clinics, scope, telling
from ..storage.caseload_choice import Choice
from ..storage.models import Alert, Staff
from ..storage.telling import House
from .actor import Actor
from .change_staff import drop_mark, require_head, some_manager_stays
from .keep_audit import keep
from .open_alert import note
from .plan_notices import first_told
from .sign_in import end_all


@dataclass(frozen=True, slots=True)
class HandedBack:
    """An alert that is open again, and whom it falls to."""

    alert: Alert
    to: tuple[str, ...]  # names; empty where nobody is left to be told


@dataclass(frozen=True, slots=True)
class Ended:
    """What somebody who leaves leaves behind."""

    who: Staff
    alerts: tuple[HandedBack, ...]
    courses: int  # open ones that need another responsible therapist
    duty: tuple[str, ...]  # hours of trouble in which nobody is on duty now


def end_staff(
    db: Session, by: Actor, staff_id: uuid.UUID | str, now: datetime, real_now: datetime
) -> Ended:
    """The end of an employment, at once. A manager does it; Conflict where it has ended already.

    What they had taken up is open again and told anew, from the first person on; duty hours that
    named them are 'nobody' hours from now on, and their courses are listed for the manager.
    """
    require_head(by)
    who = scope.get(db, Staff, by.clinic_id, staff_id)
    if who.ended_at is not None and who.ended_at <= now:
        raise Conflict("ended", f"{who.name} does not work here any more.")
    some_manager_stays(db, who, now)
    duty = tuple(d.words for d in clinics.duty(db, who.clinic_id, now) if d.who == str(who.id))
    held = alerts.taken_up_by(db, who)
    who.ended_at = now
    drop_mark(db, who, now)
    end_all(db, who, real_now)
    keep(db, by, "staff_ended", who, now)
    db.flush()
    for alert in held:
        alerts.move(db, alert, ("taken_up",), "open")
    there = telling.house(db, who.clinic_id, now)
    handed = tuple(_hand_back(db, there, who, row, now) for row in held)
    theirs = caseloads.page(db, who.clinic_id, 1, now, Choice(therapist=who.id))
    return Ended(who, handed, theirs.total, duty)


def _hand_back(db: Session, there: House, who: Staff, row: Alert, now: datetime) -> HandedBack:
    to = _first(db, there, row, now)
    words = f"{who.name} does not work here any more. {_falls(to)}"
    note(db, row, "handed_back", now, words=words)
    return HandedBack(row, to)


def _first(db: Session, there: House, row: Alert, now: datetime) -> tuple[str, ...]:
    """Names of those who are told of it now, or in the next digest."""
    therapist = telling.therapists_of(db, {row.course_id}, now).get(row.course_id)
    people = first_told(there, row.kind, row.level, therapist, now)
    return tuple(there.members[each].name for each in people)


def _falls(to: tuple[str, ...]) -> str:
    return f"Falls to {' and '.join(to)}" if to else "There is nobody left to tell"


def said(told: Ended) -> list[str]:
    """What happened and what is left to do, a sentence each."""
    lines = [f"{told.who.name} does not work here any more. All their sign-ins have ended."]
    for each in told.alerts:
        kind = each.alert.kind.replace("_", " ")
        lines.append(f"Open again: {kind}. {_falls(each.to)}.")
    lines += [f"Nobody is on duty for trouble now: {hours}." for hours in told.duty]
    if told.courses:
        count = "1 patient needs" if told.courses == 1 else f"{told.courses} patients need"
        lines.append(f"{count} another responsible therapist.")
    return lines
