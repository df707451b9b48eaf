"""Settle an alert, saying what was done."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from ..domain.alert import UNSETTLED, accepted_level, is_trouble, refuse_settling
from ..domain.clock import local
from ..domain.errors import Conflict, Invalid
from ..storage import clinics, scope
from ..storage.alerts import move
from ..storage.models import Alert, Course
from ..storage.troubles import holds_of_report
from ..storage.visits import visit_ahead
from .actor import Actor
from .hold_course import resume
from .open_alert import note
from .take_up_alert import require_watcher

LONGEST_SILENCE = timedelta(days=60)  # chosen by staff, of a condition that holds


def settle_alert(
    db: Session,
    by: Actor,
    alert_id: uuid.UUID | str,
    done: str,
    words: str,
    now: datetime,
    not_again_before: date | None = None,
    resume_reason: str | None = None,
    false_alarm: bool = False,
    accept: bool = False,
) -> Alert:
    """Settle an alert that is open or taken up; only a clinician settles trouble.

    `not_again_before`: the day from which the same condition, if it holds still, is told again;
    None: the next visit, else (3) clinic days. `resume_reason`: with it the holds that this
    report of trouble opened are ended. `false_alarm`: there was nothing to tell, which is counted.
    `accept`: of few logged, watch for a fall from the level reached, until the next visit.
    Raises Invalid with the fields, Forbidden, Conflict.
    """
    require_watcher(by)
    alert = scope.get(db, Alert, by.clinic_id, alert_id)
    refuse_settling(alert.kind, alert.state, by.clinician, done, words, accept)
    _refuse_day(not_again_before, _today(db, alert, now))
    was_open = alert.state == "open"
    if not move(db, alert, UNSETTLED, "settled"):
        raise Conflict("alert_not_open", "This alert has been settled, or has passed.")
    if was_open:
        note(db, alert, "taken_up", now, by_id=by.id)
    if not is_trouble(alert.kind):
        alert.not_again_before = not_again_before or _default_day(db, alert, now)
    marks: dict[str, Any] = {"false_alarm": True} if false_alarm else {}
    if accept:
        marks |= _accepted(db, alert, now)
    note(
        db, alert, "settled", now, by_id=by.id, done=done, words=words.strip() or None, marks=marks
    )
    if resume_reason is not None:
        _resume(db, by, alert, resume_reason, now)
    return alert


def _refuse_day(chosen: date | None, today: date) -> None:
    """A wrong year must not keep a condition that holds from being told again."""
    if chosen is not None and not today < chosen <= today + LONGEST_SILENCE:
        said = f"A day after today, within {LONGEST_SILENCE.days} days."
        raise Invalid("settlement_invalid", said, {"not_again_before": [said]})


def _accepted(db: Session, alert: Alert, now: datetime) -> dict[str, Any]:
    """The level accepted, and the day of the visit now planned: the monitor reads them here."""
    level = accepted_level(alert.figures["reached"], alert.figures["known"])
    visit = visit_ahead(db, db.get_one(Course, alert.course_id), _today(db, alert, now), now)
    until = visit.planned.isoformat() if visit else None
    return {"accepted_level": level, "accepted_until": until}


def _today(db: Session, alert: Alert, now: datetime) -> date:
    return local(now, clinics.clinic_of(db, alert.clinic_id).zone).date()


def _default_day(db: Session, alert: Alert, now: datetime) -> date:
    today = _today(db, alert, now)
    visit = visit_ahead(db, db.get_one(Course, alert.course_id), today, now)
    if visit is not None and visit.planned > today:
        return visit.planned
    days = int(clinics.setting(db, alert.clinic_id, "not_again_clinic_days", now))
    return clinics.clinic_day_after(db, alert.clinic_id, today, days, now)


def _resume(db: Session, by: Actor, alert: Alert, reason: str, now: datetime) -> None:
    if alert.trouble_id is not None:
        for hold in holds_of_report(db, alert.trouble_id):
            resume(db, by, hold.id, reason, now)
