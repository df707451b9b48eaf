"""A manager sets how alerts are told: by kind, and for the whole clinic."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from ..domain.alert.settings import WHOLE_CLINIC, read_clinic, read_kind
from ..storage import staff
from ..storage.models import AlertSetting
from .actor import Actor, require_role
from .keep_audit import keep


def set_alert_kind(
    db: Session, by: Actor, kind: str, given: Mapping[str, Any], now: datetime
) -> AlertSetting:
    """Switch a kind on or off, with level, people and quiet hours. Invalid, by field; of trouble
    nothing can be set. The row before is kept."""
    require_role(by, "manager")
    return _keep(db, by, kind, read_kind(kind, given, _working(db, by, now)), now)


def set_alert_clinic(
    db: Session, by: Actor, given: Mapping[str, Any], now: datetime
) -> AlertSetting:
    """Set the clinic's list, the times in which alerts are taken up, and the digest's time."""
    require_role(by, "manager")
    return _keep(db, by, WHOLE_CLINIC, read_clinic(given, _working(db, by, now)), now)


def _working(db: Session, by: Actor, now: datetime) -> set[str]:
    return {str(who.id) for who in staff.watchers(db, by.clinic_id, now)}


def _keep(
    db: Session, by: Actor, kind: str, value: Mapping[str, Any], now: datetime
) -> AlertSetting:
    row = AlertSetting(
        clinic_id=by.clinic_id, at=now, kind=kind, value=dict(value), by_id=by.id
    )  # fmt: skip
    db.add(row)
    db.flush()
    keep(db, by, "set", row, now)
    return row
