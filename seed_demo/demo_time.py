"""The demo's clock: real time plus an offset in its database; it stands still while stopped.

The instant last seen is kept in a file beside the database, so that a start goes on from there.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.demo_clock import KEY, demo_offset
from homeprog.storage.models import Clinic, ClinicSetting


def set_demo_now(db: Session, demo_now: datetime, real_now: datetime) -> None:
    """Make the demo's clock show `demo_now` from this real instant on."""
    seconds = (demo_now - real_now).total_seconds()
    clinic_id = db.scalars(select(Clinic.id).where(Clinic.demo)).one()
    row = db.scalars(
        select(ClinicSetting).where(ClinicSetting.clinic_id == clinic_id, ClinicSetting.key == KEY)
    ).first()
    if row:
        row.value = {"seconds": seconds}
        return
    db.add(
        ClinicSetting(
            clinic_id=clinic_id,
            at=demo_now,
            key=KEY,
            value={"seconds": seconds},
            valid_from=demo_now,
        )
    )


def note_seen(db: Session, kept: Path, real_now: datetime) -> None:
    """Keep what the demo's clock shows now."""
    kept.write_text((real_now + demo_offset(db)).isoformat())


def go_on(db: Session, kept: Path, real_now: datetime) -> None:
    """Start the clock again from where it was last seen."""
    if kept.exists():
        set_demo_now(db, datetime.fromisoformat(kept.read_text().strip()), real_now)


def parse_span(words: str) -> timedelta:
    """'1h', '30m' or '1d' as a span; raises ValueError on anything else or over 14 days."""
    units = {"m": "minutes", "h": "hours", "d": "days"}
    if not words or words[-1] not in units or not words[:-1].isdigit():
        raise ValueError("Say how far: 30m, 1h or 1d.")
    span = timedelta(**{units[words[-1]]: int(words[:-1])})
    if not timedelta() < span <= timedelta(days=14):
        raise ValueError("Between 1m and 14d at a time.")
    return span


def real_now() -> datetime:
    return datetime.now(UTC)
