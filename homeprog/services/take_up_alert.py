"""Take up an alert: from now on somebody sees to it."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Forbidden
from ..storage import scope
from ..storage.alerts import move
from ..storage.models import Alert
from ..storage.staff import WATCHERS
from .actor import Actor
from .open_alert import note


def take_up_alert(db: Session, by: Actor, alert_id: uuid.UUID | str, now: datetime) -> Alert:
    """Conflict if it is not open any more: of two who try at once, one takes it up.

    'Seen by ...' reaches the patient's phone only where the one who took it up is a clinician.
    """
    require_watcher(by)
    alert = scope.get(db, Alert, by.clinic_id, alert_id)
    if not move(db, alert, ("open",), "taken_up"):
        raise Conflict("alert_not_open", f"This alert is not open: {said(alert.state)}.")
    note(db, alert, "taken_up", now, by_id=by.id)
    return alert


def require_watcher(by: Actor) -> None:
    """Raises Forbidden unless a clinician, therapist or manager acts."""
    if by.kind != "staff" or not (by.clinician or by.role in WATCHERS):
        raise Forbidden("role", "This needs a clinician, or the role therapist or manager.")


def said(state: str) -> str:
    """A state in words."""
    return state.replace("_", " ")
