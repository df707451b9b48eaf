"""Prompts: planned, joined to slots, claimed and sent, and what became of them."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class Prompt(Row):
    __tablename__ = "prompt"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"))
    due_at: Mapped[datetime] = mapped_column(index=True)
    ends_at: Mapped[datetime]  # no later than the end of the last slot it covers
    withdrawn_at: Mapped[datetime | None]  # its slots are no longer planned; filled once
    __table_args__ = (UniqueConstraint("patient_id", "due_at", name="uq_prompt_due"),)


class PromptSlot(Row):
    __tablename__ = "prompt_slot"
    prompt_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("prompt.id"), index=True)
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"))
    exercise: Mapped[str]
    slot_start: Mapped[datetime]
    __table_args__ = (
        UniqueConstraint("course_id", "exercise", "slot_start", name="uq_prompt_slot"),
    )


class PromptSend(Row):
    """One prompt to one phone: the row that is claimed, with a lease. State moves."""

    __tablename__ = "prompt_send"
    prompt_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("prompt.id"))
    device_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("device.id"))
    state: Mapped[str] = mapped_column(default="due")  # due|claimed|sent|failed|dropped
    due_at: Mapped[datetime]  # moved forward by a retry
    lease_until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0)
    __table_args__ = (
        UniqueConstraint("prompt_id", "device_id", name="uq_prompt_send"),
        Index("ix_prompt_send_due", "state", "due_at"),
    )


class PromptEvent(Row):
    __tablename__ = "prompt_event"
    send_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("prompt_send.id"), index=True)
    what: Mapped[str]  # sent | refused | gone | failed | dropped | shown | tapped | muted
    detail: Mapped[str | None]
