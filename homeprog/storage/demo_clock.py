"""The demo's offset from real time, kept in its database; zero in a clinic that is no demo."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, scoped_session

from .models import Clinic, ClinicSetting

KEY = "demo_clock_offset"


def demo_offset(db: Session | scoped_session[Any]) -> timedelta:
    """Seconds to add to real time."""
    row = db.scalars(
        select(ClinicSetting.value)
        .join(Clinic, Clinic.id == ClinicSetting.clinic_id)
        .where(Clinic.demo, ClinicSetting.key == KEY)
        .order_by(ClinicSetting.valid_from.desc())
        .limit(1)
    ).first()
    return timedelta(seconds=row["seconds"]) if row else timedelta()
