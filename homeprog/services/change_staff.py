"""Change a staff member's role or profession; their sign-ins end at once."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.alert import is_trouble
from ..domain.errors import Conflict, Invalid
from ..storage import alerts, scope
from ..storage import staff as stored
from ..storage.models import Alert, Staff, StaffMark
from ..storage.staff import WATCHERS
from .actor import Actor, require_role
from .add_staff import staff_faults
from .hand_back import hand_back
from .keep_audit import keep
from .sign_in import end_all


def change_staff(
    db: Session,
    by: Actor,
    staff_id: uuid.UUID | str,
    role: str,
    profession: str | None,
    now: datetime,
    real_now: datetime,
) -> Staff:
    """Role and profession from now on; None: no clinician. Invalid, a message a field.

    What was signed before stays signed by whom it was signed by. What they had taken up and may
    no longer see to is open again.
    """
    require_head(by)
    who = scope.get(db, Staff, by.clinic_id, staff_id)
    if who.ended_at is not None and who.ended_at <= now:
        raise Conflict("ended", f"{who.name} does not work here any more.")
    if faults := staff_faults(who.name, role, profession):
        raise Invalid("staff", "Nothing was changed.", faults)
    if role != "manager":
        some_manager_stays(db, who, now)
    if stored.profession(db, who.id, now) != profession:
        drop_mark(db, who, now)
        if profession:
            mark = {"staff_id": who.id, "profession": profession, "valid_from": now}
            db.add(StaffMark(clinic_id=who.clinic_id, at=now, **mark))
    who.role = role
    end_all(db, who, real_now)
    keep(db, by, "staff_changed", who, now)
    db.flush()
    hand_back(db, who, _beyond(db, who, profession), f"{who.name} no longer sees to this.", now)
    return who


def _beyond(db: Session, who: Staff, profession: str | None) -> list[Alert]:
    """Alerts they had taken up: for trouble a clinician is needed, for the others a role too."""
    if profession is not None:
        return []
    held = alerts.taken_up_by(db, who)
    return [row for row in held if who.role not in WATCHERS or is_trouble(row.kind)]


def require_head(by: Actor) -> None:
    """Raises Forbidden unless a manager, or the house itself by command, acts."""
    if by.kind != "system":
        require_role(by, "manager")


def some_manager_stays(db: Session, who: Staff, now: datetime) -> None:
    """Raises Conflict where `who` is the clinic's last manager."""
    here = stored.members(db, who.clinic_id, now)
    if [each.id for each in here if each.role == "manager"] == [who.id]:
        raise Conflict("last_manager", f"{who.name} is the only manager: name another one first.")


def drop_mark(db: Session, who: Staff, now: datetime) -> None:
    """End the clinician's mark in force."""
    for mark in stored.marks(db, who.id, now):
        mark.valid_to = now
    db.flush()
