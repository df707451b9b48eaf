"""Alerts and what happened to them."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import bindparam, select, update
from sqlalchemy.orm import Session

from ..domain.alert import LEVELS, UNSETTLED
from .base import newest_first
from .columns import columns
from .models import Alert, AlertEvent, Staff

ENDED = "ended"  # what: the condition of a settled alert no longer holds


def alerts_of(db: Session, course_id: uuid.UUID, now: datetime) -> list[Alert]:
    """Every alert of a course, newest first."""
    query = select(Alert).where(Alert.course_id == course_id, Alert.at <= now)
    return list(db.scalars(query.order_by(*newest_first(Alert))))


def unsettled(
    db: Session, clinic_id: uuid.UUID, course_ids: Collection[uuid.UUID] | None = None
) -> list[Alert]:
    """Alerts open or taken up, of the whole clinic or of some courses; most urgent first."""
    query = select(Alert).where(Alert.clinic_id == clinic_id, Alert.state.in_(UNSETTLED))
    if course_ids is not None:
        query = query.where(Alert.course_id.in_(course_ids))
    return sorted(db.scalars(query), key=_urgency)


def _urgency(alert: Alert) -> tuple[int, datetime, str]:
    level = LEVELS.index(alert.level)
    return (level, alert.clock_starts, str(alert.id))


def unsettled_of(db: Session, course_id: uuid.UUID, kind: str) -> Alert | None:
    """The one unsettled alert of a course and kind (of trouble: the newest)."""
    return db.scalars(
        select(Alert)
        .where(Alert.course_id == course_id, Alert.kind == kind, Alert.state.in_(UNSETTLED))
        .order_by(*newest_first(Alert))
        .limit(1)
        .execution_options(populate_existing=True)
    ).first()


def last_settled(db: Session, course_id: uuid.UUID, kind: str) -> Alert | None:
    """The newest alert of a course and kind, if it was settled by staff."""
    newest = db.scalars(
        select(Alert)
        .where(Alert.course_id == course_id, Alert.kind == kind)
        .order_by(*newest_first(Alert))
        .limit(1)
    ).first()
    return newest if newest is not None and newest.state == "settled" else None


@dataclass(frozen=True, slots=True)
class Settling:
    """The settlement of an alert on what was logged."""

    at: datetime
    accepted_level: float | None  # share of the times asked for; None: no level was accepted
    until: date | None  # day of the visit then planned


def last_settling(
    db: Session, course_id: uuid.UUID, kinds: Collection[str], now: datetime
) -> Settling | None:
    """The last settlement of an alert of these kinds in a course."""
    rows = columns(db, _SETTLED, {"course": course_id, "kinds": list(kinds), "now": now})
    if not rows:
        return None
    at, figures = rows[0]
    until = figures.get("accepted_until")
    day = date.fromisoformat(until) if until else None
    return Settling(at, figures.get("accepted_level"), day)


_SETTLED = (  # built once: asked at every slot that passes
    select(AlertEvent.at, AlertEvent.figures)
    .join(Alert, Alert.id == AlertEvent.alert_id)
    .where(
        Alert.course_id == bindparam("course"),
        Alert.kind.in_(bindparam("kinds", expanding=True)),
        AlertEvent.what == "settled",
        AlertEvent.at <= bindparam("now"),
    )
    .order_by(AlertEvent.at.desc())
    .limit(1)
)


def has_ended(db: Session, alert_id: uuid.UUID) -> bool:
    """Whether the condition of a settled alert has ended since."""
    query = select(AlertEvent.id).where(AlertEvent.alert_id == alert_id, AlertEvent.what == ENDED)
    return db.scalars(query).first() is not None


def of_report(db: Session, trouble_id: uuid.UUID) -> Alert | None:
    """The alert of one report of trouble."""
    return db.scalars(select(Alert).where(Alert.trouble_id == trouble_id)).first()


def events_of(db: Session, alert_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[AlertEvent]]:
    """What happened to each alert, oldest first."""
    found: dict[uuid.UUID, list[AlertEvent]] = {key: [] for key in alert_ids}
    query = select(AlertEvent).where(AlertEvent.alert_id.in_(found))
    for event in db.scalars(query.order_by(AlertEvent.at, AlertEvent.id)):
        found[event.alert_id].append(event)
    return found


def taken_up_by(db: Session, who: Staff) -> list[Alert]:
    """Unsettled alerts that this person was the last to take up, oldest first."""
    held = db.scalars(
        select(Alert)
        .where(Alert.clinic_id == who.clinic_id, Alert.state == "taken_up")
        .order_by(Alert.at, Alert.id)
    ).all()
    last = {
        alert: [e.by_id for e in rows if e.what == "taken_up"][-1:]
        for alert, rows in events_of(db, [row.id for row in held]).items()
    }
    return [row for row in held if last[row.id] == [who.id]]


def move(db: Session, alert: Alert, since: Collection[str], state: str) -> bool:
    """Move an alert on if it is still in one of the states `since`: of two who try, one does."""
    moved = db.execute(
        update(Alert)
        .where(Alert.id == alert.id, Alert.state.in_(since))
        .values(state=state)
        .execution_options(synchronize_session=False)
    )
    db.refresh(alert)
    return bool(moved.rowcount)  # type: ignore[attr-defined]
