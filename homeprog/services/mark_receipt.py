"""A phone says that a reminder was shown or tapped."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from ..domain.errors import Invalid, NotFound
from ..storage.models import Device, PromptEvent, PromptSend
from ..storage.prompts import is_test
from ..storage.scope import get
from .actor import Actor

RECEIPTS = ("shown", "tapped")


def mark_receipt(
    db: Session, by: Actor, send_id: uuid.UUID | str, what: str, at: datetime, now: datetime
) -> None:
    """Note a receipt once; that of a test reminder proves that the phone returns receipts.

    `at` is the phone's own time. The contact it proves is marked apart. Raises NotFound for a
    send of another phone, Invalid for another word than shown or tapped.
    """
    if what not in RECEIPTS:
        raise Invalid("receipt", "A receipt says shown or tapped.", {"what": ["Not known."]})
    send = get(db, PromptSend, by.clinic_id, send_id)
    if send.device_id != by.id:
        raise NotFound("prompt_send")
    if not _noted(db, send.id, what):
        detail = at.isoformat()
        db.add(
            PromptEvent(send_id=send.id, what=what, detail=detail, at=now, clinic_id=by.clinic_id)
        )
    if is_test(db, send.prompt_id):
        get(db, Device, by.clinic_id, send.device_id).receipt_proven = True
    db.flush()


def _noted(db: Session, send_id: uuid.UUID, what: str) -> bool:
    return bool(
        db.scalar(select(exists().where(PromptEvent.send_id == send_id, PromptEvent.what == what)))
    )
