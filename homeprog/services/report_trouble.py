"""Take a report of trouble: kept for good, an alert of its own, and exercises off if it stops."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, cast

from sqlalchemy.orm import Session

from ..domain.alert import TROUBLES as WORDS_OF
from ..domain.errors import Conflict, NotFound
from ..domain.trouble import TROUBLES, Kind, can_take_back
from ..storage import scope
from ..storage.bouts import insert_new
from ..storage.clinics import setting
from ..storage.contacts import CallersCourse
from ..storage.models import AlertEvent, HoldEnd, TroubleReport
from ..storage.troubles import alert_of_report, holds_of_report, unmarked_bouts
from .actor import Actor
from .course_changed import course_changed
from .hold_course import hold_course
from .open_alert import open_alert

LEVELS = {"now": "now", "today": "today", "week": "this_week"}  # a 'line' is no alert by itself
RESTS = frozenset({"told_different"})  # rest till a clinician has looked: not a stop flag
BY_MISTAKE = "Pressed by mistake"


@dataclass(frozen=True, slots=True)
class Report:
    """What a patient says is wrong, or staff for the patient."""

    id: uuid.UUID
    kind: Kind
    details: Mapping[str, Any]
    entered_at: datetime  # by the server's clock, held within the course
    digest: str


def report_trouble(
    db: Session, by: Actor, course: CallersCourse, report: Report, now: datetime
) -> bool:
    """Store it with all that follows; False, and nothing done, if its id was there before."""
    rule = TROUBLES[report.kind]
    row = _row(by, course, report, rule.stop, now)
    if not insert_new(db, TroubleReport, [row]):
        return False
    if course.closed_at is None:
        _hold(db, by, course, report, now)
    if rule.level in LEVELS:
        figures = {
            "trouble": report.kind,
            "stop": rule.stop,
            "entered_at": report.entered_at.isoformat(),
        }
        level = LEVELS[rule.level]
        open_alert(db, course.course, "trouble", level, figures, now, trouble_id=report.id)
    if rule.stop and by.kind == "device":
        _mark_bouts_since(db, by, course, report, now)
    return True


def _row(
    by: Actor, course: CallersCourse, report: Report, stop: bool, now: datetime
) -> dict[str, Any]:
    return {
        "id": report.id,
        "at": now,
        "clinic_id": by.clinic_id,
        "course_id": course.course.id,
        "kind": report.kind,
        "stop": stop,
        "details": dict(report.details),
        "entered_at": report.entered_at,
        "taken_back_at": None,
        "device_id": by.id if by.kind == "device" else None,
        "by_id": by.id if by.kind == "staff" else None,
        "digest": report.digest,
    }


def _hold(db: Session, by: Actor, course: CallersCourse, report: Report, now: datetime) -> None:
    stop = TROUBLES[report.kind].stop
    if not stop and report.kind not in RESTS:
        return
    kind = "stop_flag" if stop else "until_release"
    hold_course(
        db, by, course.course.id, kind, WORDS_OF[report.kind], now,
        trouble=report.id, starts=report.entered_at,
    )  # fmt: skip


def _mark_bouts_since(
    db: Session, by: Actor, course: CallersCourse, report: Report, now: datetime
) -> None:
    """Bouts of this phone that came before the report, though entered after it."""
    assert by.id is not None
    rows = unmarked_bouts(db, course.course.id, by.id, report.entered_at)
    for row in rows:
        row.while_stopped = True
    alert_while_stopped(db, course, [row.id for row in rows], now)


def alert_while_stopped(
    db: Session, course: CallersCourse, bouts: list[uuid.UUID], now: datetime
) -> None:
    """'Exercise logged while stopped': one open per course, each bout added to it."""
    if bouts:
        figures = {"bouts": sorted(str(bout) for bout in bouts)}
        open_alert(db, course.course, "exercise_while_stopped", "now", figures, now)


def take_back(
    db: Session,
    by: Actor,
    course: CallersCourse,
    report_id: uuid.UUID,
    pressed: datetime,
    now: datetime,
) -> None:
    """'Pressed by mistake': exercise goes on; the report is kept and its alert stays.

    NotFound for a report that is not this course's; Conflict for a kind that is never taken back
    or a press more than 2 minutes (the clinic's setting) after the report.
    """
    report = scope.get(db, TroubleReport, by.clinic_id, report_id)
    if report.course_id != course.course.id:
        raise NotFound("trouble_report")
    within = timedelta(minutes=setting(db, by.clinic_id, "take_back_minutes", now))
    if not can_take_back(cast(Kind, report.kind), report.entered_at, pressed, within):
        raise Conflict("not_taken_back", "This report stands. Ring the clinic.")
    if report.taken_back_at is not None:
        return
    report.taken_back_at = pressed
    for hold in holds_of_report(db, report.id):
        db.add(
            HoldEnd(
                at=now, clinic_id=by.clinic_id, hold_id=hold.id, ends=max(pressed, hold.starts),
                reason=BY_MISTAKE, by_id=None,
            )
        )  # fmt: skip
    _note_on_alert(db, by, report, now)
    course_changed(db, course.course, report.entered_at, now)


def _note_on_alert(db: Session, by: Actor, report: TroubleReport, now: datetime) -> None:
    alert = alert_of_report(db, report.id)
    if alert is not None:
        db.add(
            AlertEvent(
                at=now, clinic_id=by.clinic_id, alert_id=alert.id, what="note", level=None,
                figures={"taken_back": True}, done=None, words=BY_MISTAKE, by_id=None,
            )
        )  # fmt: skip
