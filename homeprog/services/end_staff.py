"""End a staff member's employment: sign-ins end at once, what they had taken up goes on."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict
from ..storage import alerts, caseloads, clinics, scope
from ..storage.caseload_choice import Choice
from ..storage.models import Staff
from .actor import Actor
from .change_staff import drop_mark, require_head, some_manager_stays
from .hand_back import HandedBack, hand_back
from .keep_audit import keep
from .sign_in import end_all


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
    handed = hand_back(db, who, held, f"{who.name} does not work here any more.", now)
    theirs = caseloads.page(db, who.clinic_id, 1, now, Choice(therapist=who.id))
    return Ended(who, handed, theirs.total, duty)


def said(told: Ended) -> list[str]:
    """What happened and what is left to do, a sentence each."""
    lines = [f"{told.who.name} does not work here any more. All their sign-ins have ended."]
    for each in told.alerts:
        kind = each.alert.kind.replace("_", " ")
        lines.append(f"Open again: {kind}. {each.falls}.")
    lines += [f"Nobody is on duty for trouble now: {hours}." for hours in told.duty]
    if told.courses:
        count = "1 patient needs" if told.courses == 1 else f"{told.courses} patients need"
        lines.append(f"{count} another responsible therapist.")
    return lines
