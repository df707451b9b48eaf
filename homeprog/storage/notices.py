"""Notices to staff: made once, claimed with a lease, tried, and what their channels' state is."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import and_, case, func, or_, select, update
from sqlalchemy.orm import Session

from .bouts import insert_new
from .models import Notice, NoticeTry, StaffSubscription

SPACE = uuid.UUID("b3ad5c5e-6d0f-4b7e-9a57-0f7d0a8d9c11")  # ours alone: ids are made of keys
CHANNELS = ("push", "email", "webhook")
CHANNEL_WORDS = {"push": "Web push", "email": "E-mail", "webhook": "The webhook"}


@dataclass(frozen=True, slots=True)
class Claim:
    """A notice that is ours until `lease_until`, which no other claim of it ever equals."""

    id: uuid.UUID
    channel: str
    lease_until: datetime
    tries: int  # this one included


@dataclass(frozen=True, slots=True)
class Failing:
    """A channel whose last try failed."""

    channel: str
    since: datetime  # the first failure after the last success
    detail: str

    @property
    def words(self) -> str:
        return f"{CHANNEL_WORDS[self.channel]} to staff has failed since"


def make(db: Session, rows: Iterable[Mapping[str, Any]]) -> int:
    """Put in each notice whose key is new; the number put in. Two who plan at once make one."""
    made = [{"id": uuid.uuid5(SPACE, row["key"]), **row} for row in rows]
    return len(insert_new(db, Notice, made))


def live_subscriptions(
    db: Session, clinic_id: uuid.UUID
) -> dict[uuid.UUID, list[StaffSubscription]]:
    """The browsers on which each staff member of a clinic is told."""
    found: dict[uuid.UUID, list[StaffSubscription]] = {}
    query = select(StaffSubscription).where(
        StaffSubscription.clinic_id == clinic_id, StaffSubscription.dead_at.is_(None)
    )
    for row in db.scalars(query.order_by(StaffSubscription.at, StaffSubscription.id)):
        found.setdefault(row.staff_id, []).append(row)
    return found


def claim_next(
    db: Session, now: datetime, lease: timedelta, without: Collection[str] = ()
) -> Claim | None:
    """Claim the notice that is longest due, the most urgent first; None if there is none.

    Commit before anything leaves the house. `without`: channels that are down in this pass.
    """
    claimable = or_(
        and_(Notice.state == "due", Notice.due_at <= now),
        and_(Notice.state == "claimed", Notice.lease_until < now),
    )
    urgency = case((Notice.level == "now", 0), else_=1)
    row = db.scalars(
        select(Notice)
        .where(claimable, Notice.channel.not_in(without))
        .order_by(urgency, Notice.due_at, Notice.id)
        .limit(1)
        .with_for_update(skip_locked=True, key_share=True)
        .execution_options(populate_existing=True)
    ).first()
    if row is None:
        return None
    row.state, row.lease_until, row.tries = "claimed", now + lease, row.tries + 1
    db.flush()
    return Claim(row.id, row.channel, now + lease, row.tries)


def settle(
    db: Session,
    claim: Claim,
    state: str,
    outcome: str,
    due_at: datetime | None = None,
    untried: bool = False,
) -> bool:
    """Move a claimed notice on; False, and nothing, where the claim was lost."""
    values: dict[str, Any] = {"state": state, "outcome": outcome, "lease_until": None}
    if due_at is not None:
        values["due_at"] = due_at
    if untried:
        values["tries"] = claim.tries - 1
    moved = db.execute(
        update(Notice)
        .where(
            Notice.id == claim.id, Notice.state == "claimed",
            Notice.lease_until == claim.lease_until,
        )
        .values(values)
        .execution_options(synchronize_session=False)
    )  # fmt: skip
    return bool(moved.rowcount)  # type: ignore[attr-defined]


def keep_try(db: Session, notice: Notice, what: str, detail: str | None, now: datetime) -> None:
    """Record one try."""
    db.add(
        NoticeTry(
            at=now, clinic_id=notice.clinic_id, notice_id=notice.id, channel=notice.channel,
            what=what, detail=detail,
        )
    )  # fmt: skip
    db.flush()


def failing(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Failing]:
    """The channels whose last try failed. An address that is gone is no fault of a channel."""
    return [
        found
        for channel in CHANNELS
        if (found := _failing(db, clinic_id, channel, now)) is not None
    ]


def _failing(db: Session, clinic_id: uuid.UUID, channel: str, now: datetime) -> Failing | None:
    of_channel = (
        NoticeTry.clinic_id == clinic_id, NoticeTry.channel == channel, NoticeTry.at <= now,
    )  # fmt: skip
    last_sent = db.scalars(
        select(func.max(NoticeTry.at)).where(*of_channel, NoticeTry.what == "sent")
    ).one()
    query = select(NoticeTry).where(*of_channel, NoticeTry.what == "failed")
    if last_sent is not None:
        query = query.where(NoticeTry.at > last_sent)
    first = db.scalars(query.order_by(NoticeTry.at).limit(1)).first()
    if first is None:
        return None
    last = db.scalars(query.order_by(NoticeTry.at.desc()).limit(1)).one()
    return Failing(channel, first.at, last.detail or "")


def told_in_digest(db: Session, clinic_id: uuid.UUID, since: datetime) -> set[uuid.UUID]:
    """Staff who have had a digest since an instant."""
    query = select(Notice.staff_id).where(
        Notice.clinic_id == clinic_id, Notice.why == "digest", Notice.at >= since
    )
    return set(db.scalars(query))


def of_alert(db: Session, alert_id: uuid.UUID) -> list[Notice]:
    """Who was told of an alert, oldest first; its digests apart."""
    query = select(Notice).where(Notice.alert_id == alert_id)
    return list(db.scalars(query.order_by(Notice.at, Notice.id)))
