"""Patients: identifiers, contacts, waking hours, zones, quiet times, consent, understanding."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class Patient(Row):
    """Name, birth date and language may be corrected in place; each change is in the audit."""

    __tablename__ = "patient"
    name: Mapped[str]
    born: Mapped[date]
    language: Mapped[str] = mapped_column(default="en")
    interpreter: Mapped[bool] = mapped_column(default=False)


class Identifier(Row):
    __tablename__ = "identifier"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    kind: Mapped[str]  # hospital | national
    value: Mapped[str]
    __table_args__ = (Index("ix_identifier_value", "clinic_id", "value"),)


class Contact(Row):
    """Newest row per `whose` is in force."""

    __tablename__ = "contact"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    whose: Mapped[str]  # patient | carer
    name: Mapped[str | None]
    tel: Mapped[str]
    best_times: Mapped[str | None]


class WakingHours(Row):
    """The newest row of a weekday with valid_from at or before an instant is in force."""

    __tablename__ = "waking"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    weekday: Mapped[int]
    wake: Mapped[time]
    sleep: Mapped[time]
    valid_from: Mapped[datetime]


class ZoneStay(Row):
    """The patient's zone from `starts` (never before receipt)."""

    __tablename__ = "zone_stay"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    zone: Mapped[str]
    starts: Mapped[datetime]
    said_by: Mapped[str]  # phone | staff


class Quiet(Row):
    """Muted reminders: slots stay due and loggable."""

    __tablename__ = "quiet"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    kind: Mapped[str]  # snooze | until | weekly | fewer
    starts: Mapped[datetime]
    ends: Mapped[datetime | None]
    weekday: Mapped[int | None]
    opens: Mapped[time | None]
    closes: Mapped[time | None]
    fewer: Mapped[str | None]  # every_second | four_a_day


class Consent(Row):
    __tablename__ = "consent"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    route: Mapped[str]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Understanding(Row):
    __tablename__ = "understanding"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    item: Mapped[str]
    answer: Mapped[str]  # understood | not_yet
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
