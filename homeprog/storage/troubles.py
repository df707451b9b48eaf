"""Trouble reports and the stop flags they set."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, or_, select
from sqlalchemy.orm import Session

from .base import Instant
from .columns import columns
from .models import Alert, AlertEvent, BoutRow, HoldEnd, HoldRow, TroubleReport


@dataclass(frozen=True, slots=True)
class StopFlag:
    """A stop flag of a course, on over [starts, ends), and the phone it was set on, if one."""

    hold_id: uuid.UUID
    course_id: uuid.UUID
    starts: datetime
    received: datetime
    ends: datetime | None
    device_id: uuid.UUID | None

    def on_at(self, instant: datetime) -> bool:
        return self.starts <= instant and (self.ends is None or instant < self.ends)


def stop_flags(db: Session, course_ids: Collection[uuid.UUID], since: datetime) -> list[StopFlag]:
    """The stop flags of these courses that were on at `since` or later."""
    rows = columns(db, _FLAGS, {"courses": list(course_ids), "since": since})
    return [StopFlag(*row) for row in rows]


_FLAGS = (  # built once: asked at every upload
    select(
        HoldRow.id, HoldRow.course_id, HoldRow.starts, HoldRow.at, HoldEnd.ends,
        TroubleReport.device_id,
    )
    .outerjoin(HoldEnd, HoldEnd.hold_id == HoldRow.id)
    .outerjoin(TroubleReport, TroubleReport.id == HoldRow.trouble_id)
    .where(
        HoldRow.course_id.in_(bindparam("courses", expanding=True)),
        HoldRow.kind == "stop_flag",
        or_(HoldEnd.ends.is_(None), HoldEnd.ends > bindparam("since", type_=Instant())),
    )
)  # fmt: skip


def holds_of_report(db: Session, report_id: uuid.UUID) -> list[HoldRow]:
    """The holds a report set that nobody has ended."""
    return list(
        db.scalars(
            select(HoldRow)
            .outerjoin(HoldEnd, HoldEnd.hold_id == HoldRow.id)
            .where(HoldRow.trouble_id == report_id, HoldEnd.id.is_(None))
        )
    )


def unmarked_bouts(
    db: Session, course_id: uuid.UUID, device_id: uuid.UUID, since: datetime
) -> list[BoutRow]:
    """Bouts of this phone entered at `since` or later and not marked 'while stopped'."""
    return list(
        db.scalars(
            select(BoutRow).where(
                BoutRow.course_id == course_id,
                BoutRow.device_id == device_id,
                BoutRow.entered_at >= since,
                BoutRow.while_stopped.is_(False),
                BoutRow.amount > 0,
            )
        )
    )


def reported(db: Session, course_id: uuid.UUID, kind: str) -> list[TroubleReport]:
    """The course's reports of a kind, newest first."""
    return list(
        db.scalars(
            select(TroubleReport)
            .where(TroubleReport.course_id == course_id, TroubleReport.kind == kind)
            .order_by(TroubleReport.entered_at.desc())
        )
    )


def alert_of_report(db: Session, report_id: uuid.UUID) -> Alert | None:
    """The alert a report opened."""
    return db.scalars(select(Alert).where(Alert.trouble_id == report_id)).first()


@dataclass(frozen=True, slots=True)
class TakenUp:
    """A report of trouble that somebody sees to, and is not settled."""

    report_id: uuid.UUID
    kind: str
    by_id: uuid.UUID
    at: datetime


def taken_up(db: Session, course_id: uuid.UUID, now: datetime) -> list[TakenUp]:
    """The course's reports whose alert is taken up at `now`, the newest taking up first."""
    rows = columns(db, _TAKEN_UP, {"course": course_id, "now": now})
    return [TakenUp(*row) for row in rows]


_TAKEN_UP = (
    select(TroubleReport.id, TroubleReport.kind, AlertEvent.by_id, AlertEvent.at)
    .join(Alert, Alert.trouble_id == TroubleReport.id)
    .join(AlertEvent, AlertEvent.alert_id == Alert.id)
    .where(
        Alert.course_id == bindparam("course"),
        Alert.state == "taken_up",
        AlertEvent.what == "taken_up",
        AlertEvent.by_id.is_not(None),
        AlertEvent.at <= bindparam("now"),
    )
    .order_by(AlertEvent.at.desc(), AlertEvent.id)
)
