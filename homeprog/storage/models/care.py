"""Care between visits: alerts, notices, visits, notes."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from ..base import Row

OWN_ROW = "kind <> 'trouble'"  # every trouble report is its own row


class Alert(Row):
    """A thing staff must look at. state, level and figures move; each move is an event."""

    __tablename__ = "alert"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    kind: Mapped[str]
    level: Mapped[str]  # now | today | this_week
    state: Mapped[str] = mapped_column(default="open")  # open | taken_up | settled | passed
    rule: Mapped[str]
    rule_version: Mapped[int]
    figures: Mapped[dict[str, Any]]
    clock_starts: Mapped[datetime]  # a 'nobody' hour: the opening after it
    trouble_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("trouble_report.id"))
    not_again_before: Mapped[date | None]  # chosen at settlement
    __table_args__ = (
        Index(
            "uq_alert_unsettled",
            "course_id",
            "kind",
            unique=True,
            sqlite_where=text(f"state IN ('open', 'taken_up') AND {OWN_ROW}"),
            postgresql_where=text(f"state IN ('open', 'taken_up') AND {OWN_ROW}"),
        ),
        Index("ix_alert_state", "clinic_id", "state"),
    )


class AlertEvent(Row):
    __tablename__ = "alert_event"
    alert_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("alert.id"), index=True)
    what: Mapped[str]  # opened | added | raised | taken_up | settled | passed | note
    level: Mapped[str | None]
    figures: Mapped[dict[str, Any]]
    done: Mapped[str | None]  # rang | talked_through | changed_regime | called_in | no_action ...
    words: Mapped[str | None]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class Notice(Row):
    """One message to one staff member by one channel; it is claimed, sent, and kept.

    state, due_at, lease_until, tries and outcome move; each try is a row of its own.
    """

    __tablename__ = "notice"
    alert_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("alert.id"), index=True)
    staff_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
    channel: Mapped[str]  # push | email | webhook | none: nothing reaches this person
    why: Mapped[str]  # first | next | manager | raised | digest | test
    level: Mapped[str | None]  # None: a test
    key: Mapped[str] = mapped_column(unique=True)  # what it is: the same is never made twice
    alerts: Mapped[list[Any]] = mapped_column(default=list)  # of a digest: every id it told of
    subscription_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff_subscription.id"))
    state: Mapped[str] = mapped_column(default="due")  # due | claimed | sent | failed | dropped
    due_at: Mapped[datetime]  # moved forward by a retry
    lease_until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0)
    outcome: Mapped[str | None]  # of the last try, or why there was none
    __table_args__ = (
        Index("ix_notice_due", "state", "due_at"),
        Index("ix_notice_staff", "staff_id", "why"),
    )


class NoticeTry(Row):
    """One try to send a notice; what a channel's state is read from."""

    __tablename__ = "notice_try"
    notice_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("notice.id"), index=True)
    channel: Mapped[str]
    what: Mapped[str]  # sent | failed | gone (that one address)
    detail: Mapped[str | None]
    __table_args__ = (Index("ix_notice_try_channel", "clinic_id", "channel", "at"),)


class Visit(Row):
    __tablename__ = "visit"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    planned: Mapped[date]
    planned_time: Mapped[str | None]
    kind: Mapped[str]
    for_phase: Mapped[str | None]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class VisitEvent(Row):
    __tablename__ = "visit_event"
    visit_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("visit.id"), index=True)
    what: Mapped[str]  # kept | moved | missed | cancelled | measured
    figures: Mapped[dict[str, Any]]
    by_id: Mapped[uuid.UUID | None] = mapped_column(ForeignKey("staff.id"))


class ContactNote(Row):
    __tablename__ = "contact_note"
    course_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("course.id"), index=True)
    how: Mapped[str]  # rang | spoke | seen
    words: Mapped[str]
    by_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("staff.id"))
