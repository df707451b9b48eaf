"""What became of the reminder of each slot."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Literal

from sqlalchemy import case, select
from sqlalchemy.orm import Session

from .models import Device, Prompt, PromptEvent, PromptSend, PromptSlot

ReminderState = Literal["shown", "not_shown", "muted", "not_known"]
Key = tuple[str, datetime]  # exercise, slot start

NEVER_ARRIVED = frozenset({"gone", "refused", "failed", "expired"})


def reminder_states(
    db: Session, course_id: uuid.UUID, since: datetime, until: datetime, now: datetime
) -> dict[Key, ReminderState]:
    """The reminder state of each slot that starts in [since, until) and had a reminder planned.

    A slot that is not in it, of a patient without push for instance, is not known. Of several
    phones the best counts. Receipts are expected only of a phone whose test reminder returned
    one; of others, silence after sending is not known.
    """
    told: dict[uuid.UUID, set[str]] = {}
    proven: dict[uuid.UUID, bool] = {}
    keys: dict[uuid.UUID, set[Key]] = {}
    for exercise, start, send, ended, returns, what in _rows(db, course_id, since, until, now):
        keys.setdefault(send, set()).add((exercise, start))
        told.setdefault(send, set()).update(_words(what, ended, now))
        proven[send] = returns
    states: dict[Key, list[ReminderState]] = {}
    for send, its in keys.items():
        for key in its:
            states.setdefault(key, []).append(_of_phone(told[send], proven[send]))
    return {key: _best(found) for key, found in states.items()}


def _rows(
    db: Session, course_id: uuid.UUID, since: datetime, until: datetime, now: datetime
) -> Iterable[tuple[str, datetime, uuid.UUID, datetime, bool, str | None]]:
    """(exercise, slot start, send, its end, phone returns receipts, what became of it)."""
    found = db.execute(
        select(
            PromptSlot.exercise,
            PromptSlot.slot_start,
            PromptSend.id,
            Prompt.ends_at,
            Device.receipt_proven,
            case((PromptEvent.what == "dropped", PromptEvent.detail), else_=PromptEvent.what),
        )
        .join(Prompt, Prompt.id == PromptSlot.prompt_id)
        .join(PromptSend, PromptSend.prompt_id == Prompt.id)
        .join(Device, Device.id == PromptSend.device_id)
        .outerjoin(PromptEvent, (PromptEvent.send_id == PromptSend.id) & (PromptEvent.at <= now))
        .where(
            PromptSlot.course_id == course_id,
            PromptSlot.slot_start >= since,
            PromptSlot.slot_start < until,
            Prompt.withdrawn_at.is_(None),
        )
    )
    return [(row[0], row[1], row[2], row[3], row[4], row[5]) for row in found]


def _words(what: str | None, ends_at: datetime, now: datetime) -> set[str]:
    words = {what} if what else set()
    return words | {"over"} if ends_at <= now else words


def _of_phone(told: Collection[str], returns_receipts: bool) -> ReminderState:
    """The state at one phone, from what became of the send there."""
    if "shown" in told or "tapped" in told:
        return "shown"
    if "muted" in told:
        return "muted"
    if "over" not in told:
        return "not_known"
    if "sent" in told:
        return "not_shown" if returns_receipts else "not_known"
    return "not_shown" if NEVER_ARRIVED & set(told) else "not_known"


def _best(states: Collection[ReminderState]) -> ReminderState:
    order: tuple[ReminderState, ...] = ("shown", "muted", "not_known", "not_shown")
    return next(state for state in order if state in states)
