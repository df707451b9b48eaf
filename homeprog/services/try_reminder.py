"""A test reminder: sent by the ordinary way, of no slot, and so in no figure."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, NotFound
from ..storage import prompts, sends
from ..storage.models import Device, Prompt, PromptSend
from ..storage.scope import get
from .actor import Actor

LASTS = timedelta(hours=1)  # a push service may keep it so long
UNDER_WAY = timedelta(seconds=60)  # a second tap within this asks after the same one
MOMENT = timedelta(microseconds=1)

State = Literal["waiting", "sent", "arrived", "not_sent"]


@dataclass(frozen=True, slots=True)
class Trial:
    """One test reminder and how far it has come."""

    send: PromptSend
    state: State


def try_reminder(db: Session, by: Actor, now: datetime) -> Trial:
    """Have a test reminder sent to this phone; one that is still under way is not sent twice.

    Raises Conflict where the phone has given no address to send to.
    """
    device = get(db, Device, by.clinic_id, str(by.id))
    if device.id not in prompts.phones_with_push(db, device.patient_id):
        raise Conflict("no_subscription", "Turn reminders on first.")
    last = prompts.last_test(db, device.id, now - UNDER_WAY)
    if last is not None and (trial := _trial(db, last)).state in ("waiting", "sent"):
        return trial
    return Trial(queue_test(db, device, now), "waiting")


def look_at_test(db: Session, by: Actor, send_id: uuid.UUID | str) -> Trial:
    """How far a test reminder of this phone has come. Raises NotFound for any other send."""
    send = get(db, PromptSend, by.clinic_id, send_id)
    if send.device_id != by.id or not prompts.is_test(db, send.prompt_id):
        raise NotFound("prompt_send")
    return _trial(db, send)


def queue_test(db: Session, device: Device, now: datetime) -> PromptSend:
    """A prompt of no slot is a test reminder; off the whole minute, where no slot starts."""
    due = now.replace(microsecond=1)
    while prompts.by_due(db, device.patient_id, [due]):
        due += MOMENT
    made = {"at": now, "clinic_id": device.clinic_id}
    prompt = Prompt(
        id=uuid.uuid4(), patient_id=device.patient_id, due_at=due, ends_at=now + LASTS, **made
    )
    db.add(prompt)
    db.flush()
    send = PromptSend(prompt_id=prompt.id, device_id=device.id, due_at=now, **made)
    db.add(send)
    db.flush()
    return send


def _trial(db: Session, send: PromptSend) -> Trial:
    told = sends.told_of(db, send.id)
    if {"shown", "tapped"} & told:
        return Trial(send, "arrived")
    states: dict[str, State] = {"due": "waiting", "claimed": "waiting", "sent": "sent"}
    return Trial(send, states.get(send.state, "not_sent"))
