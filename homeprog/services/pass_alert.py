"""Let an alert pass whose grounds are gone, and note that those of a settled one are."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.alert import UNSETTLED, is_trouble
from ..domain.errors import Conflict
from ..storage.alerts import ENDED, has_ended, last_settled, move, unsettled_of
from ..storage.models import Alert, Course
from .open_alert import note


def pass_alert(db: Session, alert: Alert, now: datetime) -> bool:
    """False if it was settled meanwhile. Raises Conflict for trouble, which never passes."""
    if is_trouble(alert.kind):
        raise Conflict("trouble_never_passes", "Only a clinician settles trouble.")
    if not move(db, alert, UNSETTLED, "passed"):
        return False
    note(db, alert, "passed", now)
    return True


def condition_ended(db: Session, course: Course, kind: str, now: datetime) -> None:
    """The condition of a kind does not hold now: its alert passes; a settled one may come back."""
    held = unsettled_of(db, course.id, kind)
    if held is not None:
        pass_alert(db, held, now)
        return
    last = last_settled(db, course.id, kind)
    if last is not None and not has_ended(db, last.id):
        note(db, last, ENDED, now)


def hush(db: Session, course: Course, kind: str, now: datetime) -> None:
    """A kind goes quiet: what is open passes. A settled one is not over by that."""
    held = unsettled_of(db, course.id, kind)
    if held is not None:
        pass_alert(db, held, now)
