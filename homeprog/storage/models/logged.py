"""What patients log: bouts, daily checks, trouble reports. The phone makes the ids."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

from sqlalchemy import BigInteger, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class BoutRow(Row):
    """One logged go. `at` is received_at. device times are as the device told them."""

    __tablename__ = "bout"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"))
    exercise: Mapped[str]
    slot_start: Mapped[datetime | None]
    amount: Mapped[int]
    unit: Mapped[str]
    how: Mapped[str]
    pain: Mapped[int | None]
    pain_asked: Mapped[bool]
    done_at: Mapped[datetime | None]  # clock-corrected and held within [opening, receipt + 2 min]
    entered_at: Mapped[datetime]  # likewise
    device_done_at: Mapped[datetime | None]
    device_entered_at: Mapped[datetime]
    offset_ms: Mapped[int] = mapped_column(BigInteger)  # a clock may be wrong by years
    zone: Mapped[str]
    device_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    logged_by: Mapped[str]  # patient | carer | staff
    source: Mapped[str]  # phone | telephone | paper
    plan_version: Mapped[str | None]
    revision: Mapped[int | None]  # the revision number the plan version stood for
    supersedes_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("bout.id"))
    split: Mapped[bool] = mapped_column(default=False)  # staff said: not the other phone's go
    while_stopped: Mapped[bool] = mapped_column(default=False)
    digest: Mapped[str]  # of the item as sent: the same id with other content is refused
    __table_args__ = (
        Index("ix_bout_course_entered", "course_id", "entered_at"),
        Index("ix_bout_device", "device_id", "at"),
    )


class DailyCheck(Row):
    __tablename__ = "daily_check"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    day: Mapped[date]
    answers: Mapped[dict[str, Any]]
    details: Mapped[dict[str, Any]]
    average_pain: Mapped[int | None]
    entered_at: Mapped[datetime]
    device_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))
    digest: Mapped[str]


class TroubleReport(Row):
    """The patient saying something is wrong; each is its own alert. taken_back_at fills once."""

    __tablename__ = "trouble_report"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    kind: Mapped[str]
    stop: Mapped[bool]
    details: Mapped[dict[str, Any]]
    entered_at: Mapped[datetime]
    taken_back_at: Mapped[datetime | None]
    device_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    digest: Mapped[str]


class PhoneItem(Row):
    """Other things a phone said once (taken_back, hand_answer, quiet, read, zone_said)."""

    __tablename__ = "phone_item"
    device_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("device.id"))
    course_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("course.id"))
    type: Mapped[str]
    body: Mapped[dict[str, Any]]
    entered_at: Mapped[datetime]
    digest: Mapped[str]
