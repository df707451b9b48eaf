"""Sends of prompts: claimed with a lease, loaded, settled."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import and_, or_, select, update
from sqlalchemy.orm import Session

from .models import Course, Device, Prompt, PromptEvent, PromptSend, PromptSlot, Subscription


@dataclass(frozen=True, slots=True)
class Claim:
    """A send that is ours until `lease_until`, which no other claim of it ever equals."""

    send_id: uuid.UUID
    lease_until: datetime
    tries: int  # this one included


@dataclass(frozen=True, slots=True)
class Due:
    """A claimed send with what it is about."""

    send: PromptSend
    prompt: Prompt
    device: Device
    slots: Sequence[tuple[PromptSlot, Course]]  # none: a test reminder
    subscription: Subscription | None  # the live one


def claim_next(db: Session, now: datetime, lease: timedelta) -> Claim | None:
    """Claim the send that is longest due, or whose claim has run out; None if there is none.

    Two that claim at once get different rows: PostgreSQL skips rows the other holds, SQLite lets
    one write at a time. Commit before anything leaves the house.
    """
    claimable = or_(
        and_(PromptSend.state == "due", PromptSend.due_at <= now),
        and_(PromptSend.state == "claimed", PromptSend.lease_until < now),
    )
    send = db.scalars(
        select(PromptSend)
        .where(claimable)
        .order_by(PromptSend.due_at, PromptSend.id)
        .limit(1)
        .with_for_update(skip_locked=True, key_share=True)
        .execution_options(populate_existing=True)
    ).first()
    if send is None:
        return None
    send.state, send.lease_until, send.tries = "claimed", now + lease, send.tries + 1
    db.flush()
    return Claim(send.id, now + lease, send.tries)


def load(db: Session, send_id: uuid.UUID) -> Due:
    """A send with its prompt, phone, slots and the phone's live subscription."""
    send = db.get_one(PromptSend, send_id)
    slots = db.execute(
        select(PromptSlot, Course)
        .join(Course, Course.id == PromptSlot.course_id)
        .where(PromptSlot.prompt_id == send.prompt_id)
        .order_by(PromptSlot.slot_start, PromptSlot.id)
    )
    subscription = db.scalars(
        select(Subscription).where(
            Subscription.device_id == send.device_id, Subscription.dead_at.is_(None)
        )
    ).first()
    return Due(
        send,
        db.get_one(Prompt, send.prompt_id),
        db.get_one(Device, send.device_id),
        [(slot, course) for slot, course in slots],
        subscription,
    )


def told_of(db: Session, send_id: uuid.UUID) -> set[str]:
    """What became of a send so far: the words of its events."""
    return set(db.scalars(select(PromptEvent.what).where(PromptEvent.send_id == send_id)))


def settle(
    db: Session,
    claim: Claim,
    now: datetime,
    state: str,
    what: str,
    detail: str | None = None,
    due_at: datetime | None = None,
) -> bool:
    """Move a claimed send on and note why; False, and nothing, where the claim was lost."""
    moved = {"state": state, "lease_until": None} | ({"due_at": due_at} if due_at else {})
    clinic_id = db.scalars(
        update(PromptSend)
        .where(
            PromptSend.id == claim.send_id,
            PromptSend.state == "claimed",
            PromptSend.lease_until == claim.lease_until,
        )
        .values(moved)
        .returning(PromptSend.clinic_id)
        .execution_options(synchronize_session=False)
    ).first()
    if clinic_id is None:
        return False
    event = PromptEvent(
        send_id=claim.send_id, what=what, detail=detail, at=now, clinic_id=clinic_id
    )
    db.add(event)
    db.flush()
    return True


def send_again(db: Session, patient_id: uuid.UUID, again: datetime, now: datetime) -> None:
    """Have what was sent for slots in progress fall due once more at `again`."""
    in_progress = (
        select(Prompt.id)
        .join(PromptSlot, PromptSlot.prompt_id == Prompt.id)
        .where(Prompt.patient_id == patient_id, Prompt.due_at <= now, Prompt.ends_at > again)
    )
    db.execute(
        update(PromptSend)
        .where(PromptSend.prompt_id.in_(in_progress), PromptSend.state == "sent")
        .values(state="due", due_at=again, tries=0)
        .execution_options(synchronize_session=False)
    )


def end_subscription(db: Session, endpoint: str, now: datetime) -> None:
    """Mark a subscription dead: its push service no longer knows it. The row stays."""
    db.execute(
        update(Subscription)
        .where(Subscription.endpoint == endpoint, Subscription.dead_at.is_(None))
        .values(dead_at=now)
    )
