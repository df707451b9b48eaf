"""Courses: facts, repairs, events, holds, releases, revisions, templates, signed texts."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row


class Course(Row):
    """One operated hand, one operation. `day_zero` anchors the running day number for good."""

    __tablename__ = "course"
    patient_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("patient.id"), index=True)
    previous_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("course.id"))
    day_zero: Mapped[date]  # the operation date first entered; corrections are course facts


class CourseFact(Row):
    """Newest row of a `what` is in force: operation_date, side, worn, handedness, with_it, ..."""

    __tablename__ = "course_fact"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    what: Mapped[str]
    value: Mapped[dict[str, Any]]  # {"is": ...}
    reason: Mapped[str | None]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Repair(Row):
    """Replaced as a whole set: `set_id`, newest set wins."""

    __tablename__ = "repair"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    set_id: Mapped[uuid.UUID]
    digit: Mapped[str | None]  # None: a wrist extensor or the forearm
    structure: Mapped[str]
    zone: Mapped[str]
    joint: Mapped[str | None]
    wired: Mapped[bool] = mapped_column(default=False)
    nerve: Mapped[bool] = mapped_column(default=False)
    cut_in_part: Mapped[int | None]  # per cent, 0 where noted without a figure


class CourseEvent(Row):
    """confirmed, read_back, read_back_no, facts_entered, closed, date_corrected, ..."""

    __tablename__ = "course_event"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    kind: Mapped[str]
    figures: Mapped[dict[str, Any]]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    device_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("device.id"))


class HoldRow(Row):
    __tablename__ = "hold"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    exercise: Mapped[str | None]  # None: the whole course
    kind: Mapped[str]  # pause | stop_flag | hospital | until_release
    starts: Mapped[datetime]
    planned_end: Mapped[datetime | None]  # a pause has one; its end is a task, it does not resume
    reason: Mapped[str]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))
    trouble_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("trouble_report.id"))


class HoldEnd(Row):
    __tablename__ = "hold_end"
    hold_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("hold.id"), unique=True)
    ends: Mapped[datetime]
    reason: Mapped[str]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Revision(Row):
    """An immutable version of a course's regime. cancelled_by_id is filled once."""

    __tablename__ = "revision"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    number: Mapped[int]
    effective_from: Mapped[datetime | None]  # None: waits for a release; filled once
    body: Mapped[dict[str, Any]]  # schema version inside
    plan_hash: Mapped[str]
    template_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("template.id"))
    reason: Mapped[str]
    limits: Mapped[list[Any]] = mapped_column(default=list)  # exercise keys it limits at once
    surgeon_reasons: Mapped[list[Any]] = mapped_column(default=list)
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
    cancelled_by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("revision.id"))
    __table_args__ = (UniqueConstraint("course_id", "number", name="uq_revision_number"),)


class Release(Row):
    """A phase released by a clinician; outlives later revisions. `starts` is its instant."""

    __tablename__ = "release"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    phase: Mapped[str]
    revision_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("revision.id"))
    starts: Mapped[datetime | None]  # None: signed ahead, not begun; filled once
    not_before: Mapped[date | None]  # set on a release signed ahead
    lapsed_at: Mapped[datetime | None]
    splint_fitted: Mapped[bool]
    hand_examined: Mapped[bool]
    exercise: Mapped[str | None]  # an exercise released apart from its phase
    note: Mapped[str | None]
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))


class Template(Row):
    """A regime a clinic may prescribe from; immutable, its standing is in its approvals."""

    __tablename__ = "template"
    key: Mapped[str]
    version: Mapped[int]
    name: Mapped[str]
    body: Mapped[dict[str, Any]]
    sources: Mapped[dict[str, Any]]
    plan_hash: Mapped[str]
    __table_args__ = (UniqueConstraint("clinic_id", "key", "version", name="uq_template_version"),)


class TemplateApproval(Row):
    __tablename__ = "template_approval"
    template_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("template.id"), index=True)
    step: Mapped[str]  # adopted | approved | withdrawn
    reason: Mapped[str | None]
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))


class SignedText(Row):
    """A text as the clinic signed it; newest row of (key, worn, language) is in force."""

    __tablename__ = "signed_text"
    key: Mapped[str]
    worn: Mapped[str | None]
    language: Mapped[str]
    title: Mapped[str]
    lines: Mapped[list[Any]]
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
