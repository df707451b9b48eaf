"""Where a staff member is told of alerts: their browsers, their e-mail, and a test of both."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..delivery.email import is_address
from ..delivery.push import Address
from ..delivery.push_hosts import allowed
from ..delivery.push_keys import faults
from ..domain.errors import Invalid, NotFound
from ..storage import notices
from ..storage.models import Staff, StaffSubscription
from ..storage.scope import get
from .actor import Actor
from .keep_audit import keep

LONGEST_NAME = 60  # characters


def subscribe_staff(
    db: Session,
    by: Actor,
    endpoint: str,
    p256dh: str,
    auth: str,
    name: str,
    now: datetime,
    extra_origins: Collection[str] = (),
) -> StaffSubscription:
    """Tell this person on this browser from now on; an endpoint that was another's moves here.

    Raises Invalid for a host that is not a push service or for keys that are not keys.
    """
    who, address = _self(db, by), Address(endpoint, p256dh, auth)
    if not allowed(address.endpoint, extra_origins):
        message = "Notices cannot be sent to this address."
        raise Invalid("push_host", message, {"endpoint": [message]})
    if found := faults(address):
        raise Invalid("push_keys", "The keys of the subscription are not valid.", found)
    row = db.scalars(
        select(StaffSubscription)
        .where(StaffSubscription.endpoint == address.endpoint)
        .with_for_update()
    ).first()
    if row is None:
        row = StaffSubscription(id=uuid.uuid4(), endpoint=address.endpoint, at=now)
        db.add(row)
    row.staff_id, row.clinic_id = who.id, who.clinic_id
    row.p256dh, row.auth, row.dead_at = address.p256dh, address.auth, None
    row.name = name.strip()[:LONGEST_NAME] or "A browser"
    db.flush()
    keep(db, by, "subscribed", row, now)
    return row


def end_subscription(
    db: Session, by: Actor, subscription_id: uuid.UUID | str, now: datetime
) -> None:
    """Tell this person on that browser no more; NotFound for anybody else's."""
    row = get(db, StaffSubscription, by.clinic_id, subscription_id)
    if row.staff_id != by.id:
        raise NotFound("staff_subscription")
    row.dead_at = row.dead_at or now
    keep(db, by, "unsubscribed", row, now)


def set_own_email(db: Session, by: Actor, email: str, now: datetime) -> None:
    """The address this person is told at; empty: by no e-mail. Invalid if it is none."""
    who, said = _self(db, by), email.strip()
    if said and not is_address(said):
        message = "This is not an e-mail address."
        raise Invalid("email", message, {"email": [message]})
    who.email = said or None
    keep(db, by, "email set", who, now)


def try_own_channels(db: Session, by: Actor, channels: Collection[str], now: datetime) -> list[str]:
    """Queue a test by every channel that leads to this person; the channels."""
    who = _self(db, by)
    kept = notices.live_subscriptions(db, who.clinic_id).get(who.id, [])
    ways: list[tuple[str, uuid.UUID | None]] = []
    if "push" in channels:
        ways += [("push", each.id) for each in kept]
    if "email" in channels and who.email:
        ways.append(("email", None))
    if "webhook" in channels and by.role == "manager":
        ways.append(("webhook", None))
    notices.make(
        db,
        [
            {
                "at": now, "clinic_id": who.clinic_id, "alert_id": None, "staff_id": who.id,
                "channel": channel, "subscription_id": to, "why": "test", "level": None,
                "alerts": [], "state": "due", "due_at": now, "tries": 0, "lease_until": None,
                "outcome": None, "key": f"test:{now.isoformat()}:{who.id}:{to or channel}",
            }
            for channel, to in ways
        ],
    )  # fmt: skip
    return [channel for channel, _ in ways]


def _self(db: Session, by: Actor) -> Staff:
    return get(db, Staff, by.clinic_id, str(by.id))
