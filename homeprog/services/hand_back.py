"""Open alerts again that somebody had taken up who can no longer see to them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..storage import alerts, telling
from ..storage.models import Alert, Staff
from ..storage.telling import House
from .open_alert import note
from .plan_notices import first_told


@dataclass(frozen=True, slots=True)
class HandedBack:
    """An alert that is open again, and whom it falls to."""

    alert: Alert
    to: tuple[str, ...]  # names; empty where nobody is left to be told

    @property
    def falls(self) -> str:
        """'Falls to Ruth Head'."""
        return f"Falls to {' and '.join(self.to)}" if self.to else "There is nobody left to tell"


def hand_back(
    db: Session, who: Staff, held: Iterable[Alert], why: str, now: datetime
) -> tuple[HandedBack, ...]:
    """Each is open again and told anew, from the first person on. `why` is a sentence."""
    open_again = [row for row in held if alerts.move(db, row, ("taken_up",), "open")]
    there = telling.house(db, who.clinic_id, now)
    handed = tuple(HandedBack(row, _first(db, there, row, now)) for row in open_again)
    for each in handed:
        note(db, each.alert, "handed_back", now, words=f"{why} {each.falls}")
    return handed


def _first(db: Session, there: House, row: Alert, now: datetime) -> tuple[str, ...]:
    """Names of those who are told of it now, or in the next digest."""
    therapist = telling.therapists_of(db, {row.course_id}, now).get(row.course_id)
    people = first_told(there, row.kind, row.level, therapist, now)
    return tuple(there.members[each].name for each in people)
