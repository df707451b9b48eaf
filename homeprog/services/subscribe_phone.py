"""A phone hands in its push subscription."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..delivery.push import Address
from ..delivery.push_hosts import allowed
from ..delivery.push_keys import faults
from ..domain.errors import Invalid
from ..storage.models import Device, Subscription
from ..storage.scope import get
from .actor import Actor
from .plan_prompts import plan_prompts
from .try_reminder import queue_test


def subscribe_phone(
    db: Session,
    by: Actor,
    endpoint: str,
    p256dh: str,
    auth: str,
    now: datetime,
    extra_origins: Collection[str] = (),
) -> Subscription:
    """Keep the phone's one live subscription, plan its reminders and queue a test reminder.

    An endpoint that was another phone's moves to this one. Saying the same again changes
    nothing. Raises Invalid for a host that is not a push service or for keys that are not keys.
    """
    if not allowed(endpoint, extra_origins):
        message = "Reminders cannot be sent to this address."
        raise Invalid("push_host", message, {"endpoint": [message]})
    address = Address(endpoint, p256dh, auth)
    if found := faults(address):
        raise Invalid("push_keys", "The keys of the subscription are not valid.", found)
    device = get(db, Device, by.clinic_id, str(by.id))
    kept, new = _keep(db, device, address, now)
    _end_others(db, kept, now)
    db.flush()
    plan_prompts(db, device.patient_id, now)
    if new:
        queue_test(db, device, now)
    return kept


def _keep(
    db: Session, device: Device, address: Address, now: datetime
) -> tuple[Subscription, bool]:
    """The subscription's row, and whether this phone did not have it alive before."""
    row = db.scalars(
        select(Subscription).where(Subscription.endpoint == address.endpoint).with_for_update()
    ).first()
    if row is None:
        row = Subscription(endpoint=address.endpoint, at=now)
        db.add(row)
    had = (row.device_id, row.p256dh, row.auth) == (device.id, address.p256dh, address.auth)
    alive = had and row.dead_at is None
    row.device_id, row.clinic_id = device.id, device.clinic_id
    row.p256dh, row.auth, row.dead_at = address.p256dh, address.auth, None
    return row, not alive


def _end_others(db: Session, kept: Subscription, now: datetime) -> None:
    others = select(Subscription).where(
        Subscription.device_id == kept.device_id,
        Subscription.endpoint != kept.endpoint,
        Subscription.dead_at.is_(None),
    )
    with db.no_autoflush:
        for other in db.scalars(others):
            other.dead_at = now
