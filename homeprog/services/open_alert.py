"""Open an alert, or add to the one that is open."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any, cast

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from ..domain.alert import (
    ADDED_TO,
    OWN_ROW,
    RULE_VERSION,
    TROUBLE,
    Kind,
    Level,
    Settled,
    is_trouble,
    may_open_again,
    merged,
    worse,
)
from ..domain.clock import local
from ..storage import clinics
from ..storage.alerts import has_ended, last_settled, of_report, unsettled_of
from ..storage.models import Alert, AlertEvent, Course
from .each_apart import apart
from .refresh_line import show_change


def open_alert(
    db: Session,
    course: Course,
    kind: str,
    level: str,
    figures: Mapping[str, Any],
    now: datetime,
    trouble_id: uuid.UUID | None = None,
    clock_starts: datetime | None = None,
) -> Alert | None:
    """Tell staff of a condition that holds now; None where a settled alert still answers it.

    Trouble has a row for each report. Of every other kind a course has one unsettled alert: it is
    raised where the level has become worse, and 'exercise logged while stopped' has the new bouts
    added. `clock_starts`: now while somebody is on duty for trouble, else the next opening.
    """
    if kind in OWN_ROW:
        return _report(db, course, kind, level, figures, now, trouble_id, clock_starts)
    held = unsettled_of(db, course.id, kind)
    if held is None:
        if not _may_open(db, course, kind, level, now):
            return None
        alert = _new(course, kind, level, figures, now, None)
        alert.clock_starts = clock_starts or _clock(db, course, kind, now)
        if _insert(db, alert):
            return alert
        held = unsettled_of(db, course.id, kind)  # another connection was first
    if held is not None:
        _tell_again(db, held, level, figures, now)
    return held


def _report(
    db: Session,
    course: Course,
    kind: str,
    level: str,
    figures: Mapping[str, Any],
    now: datetime,
    trouble_id: uuid.UUID | None,
    clock_starts: datetime | None,
) -> Alert:
    if trouble_id is not None and (held := of_report(db, trouble_id)) is not None:
        return held  # the same report, sent once more
    alert = _new(course, kind, level, figures, now, trouble_id)
    alert.clock_starts = clock_starts or _clock(db, course, kind, now)
    db.add(alert)
    db.flush()
    note(db, alert, "opened", now)
    return alert


def _new(
    course: Course,
    kind: str,
    level: str,
    figures: Mapping[str, Any],
    now: datetime,
    trouble_id: uuid.UUID | None,
) -> Alert:
    return Alert(
        id=uuid.uuid4(), at=now, clinic_id=course.clinic_id, course_id=course.id, kind=kind,
        level=level, state="open", rule=kind, rule_version=RULE_VERSION[cast(Kind, kind)],
        figures=dict(figures), trouble_id=trouble_id,
    )  # fmt: skip


def _clock(db: Session, course: Course, kind: str, now: datetime) -> datetime:
    """Trouble counts from now while somebody is on duty; everything else from the opening."""
    if kind in TROUBLE:
        return clinics.clock_starts(db, course.clinic_id, now)
    return clinics.next_opening(db, course.clinic_id, now) or now


def _insert(db: Session, alert: Alert) -> bool:
    """False if the course has an unsettled alert of this kind by now."""
    try:
        with db.begin_nested():
            db.add(alert)
            db.flush()
    except IntegrityError:
        return False
    note(db, alert, "opened", alert.at)
    return True


def _may_open(db: Session, course: Course, kind: str, level: str, now: datetime) -> bool:
    last = None if is_trouble(kind) else last_settled(db, course.id, kind)
    if last is None:
        return True
    today = local(now, clinics.clinic_of(db, course.clinic_id).zone).date()
    settled = Settled(cast(Level, last.level), has_ended(db, last.id), last.not_again_before)
    return may_open_again(kind, settled, level, today)


def _tell_again(
    db: Session, alert: Alert, level: str, figures: Mapping[str, Any], now: datetime
) -> None:
    """Raise it, or add the new bouts; figures otherwise stay those it was opened with."""
    raised = worse(level, alert.level)
    whole = merged(alert.kind, alert.figures, figures)
    added = alert.kind in ADDED_TO and whole != alert.figures
    if not raised and not added:
        return
    alert.figures = whole
    if raised:
        alert.level = level
    note(db, alert, "raised" if raised else "added", now)


def note(
    db: Session,
    alert: Alert,
    what: str,
    now: datetime,
    by_id: uuid.UUID | None = None,
    done: str | None = None,
    words: str | None = None,
    marks: Mapping[str, Any] | None = None,
) -> None:
    """Record what happened to an alert, with its level and figures then, and show it.

    `marks` stand beside the figures: `false_alarm`, and a level accepted at settlement.
    """
    db.add(
        AlertEvent(
            at=now, clinic_id=alert.clinic_id, alert_id=alert.id, what=what, level=alert.level,
            figures={**alert.figures, **(marks or {})}, done=done, words=words, by_id=by_id,
        )
    )  # fmt: skip
    course = db.get_one(Course, alert.course_id)
    apart(db, f"line of course {course.id}", lambda: show_change(db, course, now))
