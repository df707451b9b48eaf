"""The morning digest: what waits for this week, one message a person and clinic day."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from datetime import datetime, time
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.alert.kinds import TROUBLE
from ..domain.clock import local, to_utc
from ..storage import clinics, notices, telling
from ..storage.models import Alert
from ..storage.telling import House
from .each_apart import each_apart
from .plan_notices import NO_WAY, Ways, first_told


def plan_digests(db: Session, now: datetime, channels: Collection[str]) -> int:
    """Put down today's digests once their time has come, on clinic days only; the number put in.

    A digest tells a person of every 'this week' alert that waits for them first. What opens
    after its time waits for the next one. Trouble is never in it.
    """
    if not channels:
        return 0
    ids = [clinic.id for clinic in clinics.all_clinics(db)]
    return each_apart(db, "digest of clinic", ids, lambda k: _of_clinic(db, k, now, channels))


def _of_clinic(db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]) -> int:
    there = telling.house(db, clinic_id, now)
    zone, today = there.week.zone, local(now, there.week.zone).date()
    at = to_utc(today, there.whole.digest_at, zone)
    if now < at or not there.week.clinic_day(today):
        return 0
    waits = _waiting(db, there, at, now)
    for had in notices.told_in_digest(db, clinic_id, to_utc(today, time(0), zone)):
        waits.pop(str(had), None)
    if not waits:
        return 0
    ways = Ways(there, notices.live_subscriptions(db, clinic_id), channels)
    rows = [row for who, alerts in waits.items() for row in _rows(there, ways, who, alerts, now)]
    return notices.make(db, rows)


def _waiting(db: Session, there: House, at: datetime, now: datetime) -> dict[str, list[str]]:
    """Staff id -> ids of the alerts that wait for them this week, opened by `at`."""
    rows = db.scalars(
        select(Alert)
        .where(
            Alert.clinic_id == there.clinic_id, Alert.state == "open", Alert.at <= at,
            Alert.level == "this_week", Alert.kind.not_in(TROUBLE),
        )
        .order_by(Alert.at, Alert.id)
    ).all()  # fmt: skip
    therapists = telling.therapists_of(db, {row.course_id for row in rows}, now)
    found: dict[str, list[str]] = {}
    for row in rows:
        if there.setting(row.kind).on:
            therapist = therapists.get(row.course_id)
            for who in first_told(there, row.kind, row.level, therapist, now):
                found.setdefault(who, []).append(str(row.id))
    return found


def _rows(
    there: House, ways: Ways, who: str, alerts: list[str], now: datetime
) -> list[dict[str, Any]]:
    day = local(now, there.week.zone).date().isoformat()
    row = {
        "at": now, "clinic_id": there.clinic_id, "alert_id": None, "staff_id": uuid.UUID(who),
        "why": "digest", "level": "this_week", "alerts": alerts, "due_at": now, "tries": 0,
        "lease_until": None, "state": "due", "outcome": None,
    }  # fmt: skip
    found = ways.of(who)
    if not found:
        nobody = {"channel": "none", "subscription_id": None, "state": "failed", "outcome": NO_WAY}
        return [row | nobody | {"key": f"digest:{day}:{who}:none"}]
    return [
        row | dict(way) | {"key": f"digest:{day}:{who}:{way['subscription_id'] or way['channel']}"}
        for way in found
    ]
