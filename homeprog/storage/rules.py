"""The clinic's settings for credit and standing, as the rules take them."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from datetime import datetime, timedelta
from fractions import Fraction

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from ..domain.credit import Rules
from ..domain.settings import DEFAULTS
from .columns import columns
from .models import ClinicSetting

KEYS = ("grace_minutes", "timely_minutes", "done_share", "fill_in_hours")


def rules_of(db: Session, clinic_id: uuid.UUID, now: datetime) -> Rules:
    """The rules in force at `now`, for every day whenever it was."""
    said = columns(db, _SAID, {"clinic": clinic_id, "now": now})
    value = {key: DEFAULTS[key] for key in KEYS} | {key: value["is"] for key, value in said}
    return Rules(
        grace=timedelta(minutes=float(value["grace_minutes"])),
        timely=timedelta(minutes=float(value["timely_minutes"])),
        done=Fraction(str(value["done_share"])),
        fill_in=timedelta(hours=float(value["fill_in_hours"])),
    )


def bear_on_days(keys: Collection[str]) -> bool:
    """Whether day summaries depend on one of these settings."""
    return not set(KEYS).isdisjoint(keys)


_SAID = (  # built once: asked at every upload
    select(ClinicSetting.key, ClinicSetting.value)
    .where(
        ClinicSetting.clinic_id == bindparam("clinic"),
        ClinicSetting.key.in_(KEYS),
        ClinicSetting.valid_from <= bindparam("now"),
    )
    .order_by(ClinicSetting.valid_from, ClinicSetting.at, ClinicSetting.id)
)
