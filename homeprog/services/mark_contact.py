"""Note a word from a phone: when, by which way, and whether anything waits there."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.contact import ContactKind
from ..storage.contacts import add_mark
from ..storage.models import Device
from ..storage.touches import touch_open
from .actor import Actor

SEEN_EVERY = timedelta(minutes=1)  # how exactly Device.last_seen is kept


def mark_contact(
    db: Session,
    by: Actor,
    device: Device,
    kind: ContactKind,
    outbox_empty: bool,
    plan_version: str | None,
    now: datetime,
) -> None:
    """Add the mark; what it touches is the caller's."""
    add_mark(db, by.clinic_id, device.id, kind, outbox_empty, plan_version, now)
    if device.last_seen is None or now - device.last_seen >= SEEN_EVERY:
        device.last_seen = now
    if plan_version is not None and device.plan_version != plan_version:
        device.plan_version = plan_version


def hear_word(
    db: Session,
    by: Actor,
    device: Device,
    kind: ContactKind,
    outbox_left: int,
    plan_version: str | None,
    now: datetime,
) -> None:
    """Add the mark; with nothing waiting on the phone it touches the days of every open course."""
    mark_contact(db, by, device, kind, outbox_left == 0, plan_version, now)
    if outbox_left == 0:
        touch_open(db, by.clinic_id, device.patient_id, now)


def hear_phone(
    db: Session,
    by: Actor,
    device: Device,
    outbox_left: int,
    plan_version: str | None,
    push: str | None,
    via: str,
    now: datetime,
    reminding: str | None = None,
) -> None:
    """A phone says where it is: its word, its push state and how it reminds."""
    kind: ContactKind = "worker" if via == "worker" else "ping"
    hear_word(db, by, device, kind, outbox_left, plan_version, now)
    if push is not None and device.push_state != push:
        device.push_state = push
    if reminding is not None and device.reminding != reminding:
        device.reminding = reminding
    db.flush()
