"""The clinic: settings, numbers, hours, duty, staff sign-ins, consent, tasks."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Base, Row


class Clinic(Base):
    __tablename__ = "clinic"
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True, default=uuid.uuid4)
    at: Mapped[datetime]
    name: Mapped[str] = mapped_column(unique=True)
    zone: Mapped[str]
    demo: Mapped[bool] = mapped_column(default=False)  # invented people; labelled wherever shown


class ClinicSetting(Row):
    """The newest row of a key at or before an instant is in force then."""

    __tablename__ = "clinic_setting"
    key: Mapped[str]
    value: Mapped[dict[str, Any]]
    valid_from: Mapped[datetime]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    __table_args__ = (Index("ix_clinic_setting_key", "clinic_id", "key", "valid_from"),)


class LanguageStep(Row):
    """A language read and signed off for phones, or withdrawn; the newest row of each decides.

    words: {"phrases": {key: [English, translation]}, "sentences": {English: translation}} as they
    were read; texts are signed rows of their own. digest: of all that was read.
    """

    __tablename__ = "language_step"
    language: Mapped[str]
    step: Mapped[str]  # signed_off | withdrawn
    reader: Mapped[str]  # who read it beside the English, where that was not the clinician
    words: Mapped[dict[str, Any]]
    digest: Mapped[str]
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
    __table_args__ = (Index("ix_language_step_language", "clinic_id", "language", "at"),)


class Number(Row):
    """A number to ring over hours of the week. Replaced as a whole set: `set_id`, newest wins."""

    __tablename__ = "number"
    set_id: Mapped[uuid.UUID]
    label: Mapped[str]  # 'Ring the hand unit'
    tel: Mapped[str]
    kind: Mapped[str] = mapped_column(default="clinic")  # clinic | emergency
    weekday: Mapped[int]  # 0 Monday
    opens: Mapped[time]
    closes: Mapped[time]  # 00:00 means the end of the day


class ClinicHours(Row):
    __tablename__ = "clinic_hours"
    set_id: Mapped[uuid.UUID]
    weekday: Mapped[int]
    opens: Mapped[time]
    closes: Mapped[time]


class ClosingDay(Row):
    __tablename__ = "closing_day"
    day: Mapped[date]
    why: Mapped[str]
    withdrawn: Mapped[bool] = mapped_column(default=False)


class Duty(Row):
    """Who is on duty for trouble over hours of the week; staff_id None is 'nobody'."""

    __tablename__ = "duty"
    set_id: Mapped[uuid.UUID]
    weekday: Mapped[int]
    opens: Mapped[time]
    closes: Mapped[time]
    staff_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class AlertSetting(Row):
    """Per kind: on or off, level, who, quiet hours; newest row wins. Trouble kinds ignore it."""

    __tablename__ = "alert_setting"
    kind: Mapped[str]
    value: Mapped[dict[str, Any]]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Staff(Row):
    __tablename__ = "staff"
    sign_in: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    role: Mapped[str]  # enroller | therapist | manager
    password_hash: Mapped[str]  # argon2id; changed in place
    must_change: Mapped[bool] = mapped_column(default=True)
    ended_at: Mapped[datetime | None]
    email: Mapped[str | None]


class StaffMark(Row):
    """The mark 'clinician' with its profession, apart from the role."""

    __tablename__ = "staff_mark"
    staff_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"), index=True)
    profession: Mapped[str]  # hand_therapist | surgeon | nurse | ...
    valid_from: Mapped[datetime]
    valid_to: Mapped[datetime | None]


class Cover(Row):
    __tablename__ = "cover"
    staff_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
    covered_by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
    starts: Mapped[datetime]
    ends: Mapped[datetime]


class StaffSession(Row):
    """A server-side sign-in; the cookie holds a secret whose hash is here. last_seen moves."""

    __tablename__ = "staff_session"
    staff_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"), index=True)
    token_hash: Mapped[bytes] = mapped_column(LargeBinary, unique=True)
    last_seen: Mapped[datetime]
    expires_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class StaffSubscription(Row):
    """A browser on which a staff member is told of alerts. owner, keys and dead_at move."""

    __tablename__ = "staff_subscription"
    staff_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"), index=True)
    endpoint: Mapped[str] = mapped_column(unique=True)
    p256dh: Mapped[str]
    auth: Mapped[str]
    name: Mapped[str]  # as the staff member calls the device
    dead_at: Mapped[datetime | None]


class Task(Row):
    """Something staff must do; `done_at` is filled once."""

    __tablename__ = "task"
    course_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("course.id"), index=True)
    kind: Mapped[str]
    words: Mapped[str]
    due_at: Mapped[datetime]
    done_at: Mapped[datetime | None]
    done_by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Audit(Row):
    """Ids only; sealed into a chain by a job. who and what it was done to, never a name."""

    __tablename__ = "audit"
    who_kind: Mapped[str]  # staff | device | system
    who_id: Mapped[uuid.UUID | None]
    act: Mapped[str]
    thing: Mapped[str]
    thing_id: Mapped[uuid.UUID | None]
    chain: Mapped[bytes | None] = mapped_column(LargeBinary)
    sequence: Mapped[int | None]
    __table_args__ = (UniqueConstraint("clinic_id", "sequence", name="uq_audit_sequence"),)
