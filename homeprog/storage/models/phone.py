"""Phones: devices, pairings, push subscriptions, contact marks."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import ForeignKey, Index, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class Device(Row):
    """A phone of one patient. What it says of itself moves; the token is hashed."""

    __tablename__ = "device"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    token_hash: Mapped[bytes | None] = mapped_column(LargeBinary, unique=True)
    whose: Mapped[str] = mapped_column(default="patient")  # patient | carer
    name: Mapped[str] = mapped_column(default="")
    invented: Mapped[bool] = mapped_column(default=False)  # a demo patient's invented phone
    ended_at: Mapped[datetime | None]
    ended_how: Mapped[str | None]  # unpaired | revoked | replaced
    last_seen: Mapped[datetime | None]
    push_state: Mapped[str] = mapped_column(default="default")
    reminding: Mapped[str | None]  # push | calendar | in_app | none; None: it has not said
    plan_version: Mapped[str | None]
    language: Mapped[str | None]  # as chosen on this phone; None: the patient's
    receipt_proven: Mapped[bool] = mapped_column(default=False)  # a test reminder came back


class Pairing(Row):
    """One invitation: a link secret and a typed code, both hashed; single use.

    With `from_id` it was made by that phone, for the same app on the home screen: its one code
    takes the place of the link's secret.
    """

    __tablename__ = "pairing"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    secret_hash: Mapped[bytes] = mapped_column(LargeBinary, unique=True)
    code_hash: Mapped[str]  # argon2id: 40 bits only
    expires_at: Mapped[datetime]  # real time, also in the demo
    tries: Mapped[int] = mapped_column(default=0)
    used_at: Mapped[datetime | None]
    device_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    from_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))


class Subscription(Row):
    __tablename__ = "subscription"
    device_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("device.id"), index=True)
    endpoint: Mapped[str] = mapped_column(unique=True)
    p256dh: Mapped[str]
    auth: Mapped[str]
    dead_at: Mapped[datetime | None]


class ContactMarkRow(Row):
    """One word from a phone; `at` is the server's time of receipt."""

    __tablename__ = "contact_mark"
    device_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("device.id"))
    kind: Mapped[str]  # upload | plan | ping | receipt | worker
    outbox_empty: Mapped[bool]
    plan_version: Mapped[str | None]
    __table_args__ = (Index("ix_contact_mark_device", "device_id", "at"),)
