"""Alert settings in force: the newest row of a kind; what was never set has its default."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.alert.kinds import KINDS, Level
from ..domain.alert.settings import (
    WHOLE_CLINIC,
    ClinicSetting,
    KindSetting,
    clinic_setting,
    kind_setting,
)
from .models import AlertSetting


def level_of(db: Session, clinic_id: uuid.UUID, kind: str, now: datetime) -> Level | None:
    """The level at which the clinic is told of a kind; None: switched off.

    Trouble is never off; its own level is that of its report.
    """
    setting = setting_of(db, clinic_id, kind, now)
    return setting.level if setting.on else None


def setting_of(db: Session, clinic_id: uuid.UUID, kind: str, now: datetime) -> KindSetting:
    """How the clinic tells of a kind at `now`."""
    return kind_setting(kind, _kept(db, clinic_id, kind, now))


def whole_clinic(db: Session, clinic_id: uuid.UUID, now: datetime) -> ClinicSetting:
    """The list, the times and the digest of the clinic at `now`."""
    return clinic_setting(_kept(db, clinic_id, WHOLE_CLINIC, now))


def _kept(db: Session, clinic_id: uuid.UUID, kind: str, now: datetime) -> dict[str, Any] | None:
    return db.scalars(
        select(AlertSetting.value)
        .where(
            AlertSetting.clinic_id == clinic_id, AlertSetting.kind == kind, AlertSetting.at <= now
        )
        .order_by(AlertSetting.at.desc(), AlertSetting.id.desc())
        .limit(1)
    ).first()


def settings_of(db: Session, clinic_id: uuid.UUID, now: datetime) -> dict[str, KindSetting]:
    """The setting of every kind, in one query."""
    rows = db.execute(
        select(AlertSetting.kind, AlertSetting.value)
        .where(AlertSetting.clinic_id == clinic_id, AlertSetting.at <= now)
        .order_by(AlertSetting.at, AlertSetting.id)
    )
    kept = {row.kind: row.value for row in rows}
    return {kind: kind_setting(kind, kept.get(kind)) for kind in KINDS}
