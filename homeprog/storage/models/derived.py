"""Derived rows, rebuilt at will from the raw ones."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class DaySummaryRow(Row):
    """The figures of one course day and exercise; `figures` is adherence.DaySummary as JSON."""

    __tablename__ = "day_summary"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"))
    day: Mapped[int]  # running number: date - course.day_zero
    date: Mapped[date]
    exercise: Mapped[str]
    as_of: Mapped[datetime]
    next_at: Mapped[datetime | None]  # when a slot of the day next passes its end + 45 min
    waits: Mapped[bool] = mapped_column(default=False)  # a word from a phone may change it
    figures: Mapped[dict[str, Any]]
    standings: Mapped[
        list[Any]
    ]  # [[start, end, standing, credited, asked], ...] for the tick sheet
    __table_args__ = (
        UniqueConstraint("course_id", "day", "exercise", name="uq_day_summary"),
        Index("ix_day_summary_waits", "course_id", "waits"),
        Index("ix_day_summary_next", "next_at"),
    )


class Touch(Row):
    """Something stored at `at` bears on a course's days from `since` on; gone once summed up."""

    __tablename__ = "touch"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    since: Mapped[datetime]


class CaseloadLine(Row):
    """One open course as the caseload shows it."""

    __tablename__ = "caseload_line"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), unique=True)
    as_of: Mapped[datetime]
    rank: Mapped[int]  # ascending: most in need first
    group: Mapped[str] = mapped_column("in_group")
    next_at: Mapped[datetime]  # when it changes by itself: the next waking
    figures: Mapped[dict[str, Any]]
    __table_args__ = (Index("ix_caseload_line_rank", "clinic_id", "rank"),)
