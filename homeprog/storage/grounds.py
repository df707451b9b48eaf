"""What the grounds of alerts are read from, as columns: this is asked at every slot that passes."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Text, and_, bindparam, cast, func, or_, select
from sqlalchemy.orm import Session

from ..domain import adherence
from ..domain.adherence import DaySummary, from_row
from ..domain.check import Check, Report
from .columns import columns
from .models import (
    BoutRow,
    Course,
    DailyCheck,
    DaySummaryRow,
    Device,
    PhoneItem,
    Release,
    Subscription,
    Task,
    TroubleReport,
    Understanding,
)


@dataclass(frozen=True, slots=True)
class Standing:
    """One slot as it stands in a row; amounts in the exercise's unit."""

    start: datetime
    end: datetime
    stands: adherence.Standing
    credited: int
    asked: int


@dataclass(frozen=True, slots=True)
class DayOf:
    """One course day of one exercise."""

    date: date
    exercise: str
    figures: DaySummary


def days_of(db: Session, course_id: uuid.UUID, spans: Sequence[tuple[date, date]]) -> list[DayOf]:
    """The summaries of the course in one or two spans of course days, ends included, by date."""
    (first, last), (from_, to) = (spans[0], spans[-1])
    meant = {"course": course_id, "first": first, "last": last, "from": from_, "to": to}
    return [DayOf(day, key, from_row(told)) for day, key, told in columns(db, _DAYS, meant)]


def standings_since(
    db: Session, course_id: uuid.UUID, exercise: str, first: date
) -> list[tuple[date, list[list[Any]]]]:
    """The standings of one exercise from course day `first` on, as rows keep them, by date."""
    meant = {"course": course_id, "exercise": exercise, "first": first}
    return [(day, told) for day, told in columns(db, _STANDINGS, meant)]


def standing_texts(
    db: Session, course_id: uuid.UUID, exercise: str, first: date
) -> list[tuple[date, str]]:
    """The same as the text of the JSON."""
    meant = {"course": course_id, "exercise": exercise, "first": first}
    return [(day, text) for day, text in columns(db, _TEXTS, meant)]


def standing(told: Sequence[Any]) -> Standing:
    """One slot as it stands in a row."""
    start, end, *rest = told
    return Standing(datetime.fromisoformat(start), datetime.fromisoformat(end), *rest)


def checks_since(db: Session, course_id: uuid.UUID, first: date, now: datetime) -> list[Check]:
    """The answers of the daily check from course day `first` on."""
    rows = columns(db, _CHECKS, {"course": course_id, "first": first, "now": now})
    return [Check(*row) for row in rows]


def reports_since(
    db: Session, course_id: uuid.UUID, since: datetime, now: datetime
) -> list[tuple[datetime, Report]]:
    """Reports of trouble entered since and not taken back, by when they were entered."""
    rows = columns(db, _REPORTS, {"course": course_id, "since": since, "now": now})
    return [(entered, Report(kind, details)) for entered, kind, details in rows]


def logged_since(db: Session, course_id: uuid.UUID, since: datetime, now: datetime) -> bool:
    """Whether any bout was done or entered since."""
    return bool(columns(db, _LOGGED, {"course": course_id, "since": since, "now": now}))


def pains_of(
    db: Session, course_id: uuid.UUID, since: datetime, until: datetime, least: int
) -> list[tuple[datetime, int]]:
    """Pains of `least` or more logged in [since, until), by when the bout was done or entered."""
    meant = {"course": course_id, "since": since, "until": until, "least": least}
    rows = [(done or entered, pain) for done, entered, pain in columns(db, _PAINS, meant)]
    return sorted(rows)


def last_bout(
    db: Session, patient_id: uuid.UUID, since: datetime, now: datetime
) -> datetime | None:
    """When any exercise of the patient was last done or entered, not before `since`."""
    row = columns(db, _LAST, {"patient": patient_id, "since": since, "now": now})[0]
    return max((at for at in row if at is not None), default=None)


def bouts_since(
    db: Session, patient_id: uuid.UUID, since: datetime, now: datetime
) -> list[datetime]:
    """When each bout of the patient since then was done; of a fill-in, when it was entered."""
    rows = columns(db, _BOUTS, {"patient": patient_id, "since": since, "now": now})
    return [done or entered for done, entered in rows]


NOT_WELL = (None, "something_wrong")


def all_well_answers(
    db: Session, patient_id: uuid.UUID, since: datetime, now: datetime
) -> list[datetime]:
    """When 'All well?' was answered since; 'something is wrong' does not calm anybody."""
    rows = columns(db, _ANSWERS, {"patient": patient_id, "since": since, "now": now})
    return [entered for entered, body in rows if body.get("answer") not in NOT_WELL]


def has_push(db: Session, patient_id: uuid.UUID, now: datetime) -> bool:
    """Whether any phone still paired takes reminders."""
    return bool(columns(db, _PUSH, {"patient": patient_id, "now": now}))


def lapsed_last(db: Session, course_id: uuid.UUID, now: datetime) -> Release | None:
    """The course's newest release of a stage, if it lapsed and none was signed since."""
    newest = db.scalars(
        select(Release)
        .where(Release.course_id == course_id, Release.exercise.is_(None), Release.at <= now)
        .order_by(Release.at.desc(), Release.id)
        .limit(1)
    ).first()
    return newest if newest is not None and newest.lapsed_at is not None else None


def last_release(db: Session, course_id: uuid.UUID, now: datetime) -> datetime | None:
    """When the last release of a stage began."""
    rows = columns(db, _RELEASED, {"course": course_id, "now": now})
    began: datetime | None = rows[0][0]
    return began


def not_yet(db: Session, course_id: uuid.UUID, now: datetime) -> list[tuple[str, datetime]]:
    """(item, when) of each item whose last answer is 'not yet'."""
    rows = columns(db, _UNDERSTOOD, {"course": course_id, "now": now})
    last = {item: (answer, at) for item, answer, at in rows}
    return [(item, at) for item, (answer, at) in last.items() if answer == "not_yet"]


def task_done_since(
    db: Session, course_id: uuid.UUID, kinds: Iterable[str], since: datetime
) -> bool:
    """Whether a task of these kinds has been done since."""
    query = select(Task.id).where(
        Task.course_id == course_id, Task.kind.in_(tuple(kinds)), Task.done_at >= since
    )
    return db.scalars(query.limit(1)).first() is not None


# Built once.
_OF_DAY = DaySummaryRow.course_id == bindparam("course")
_DAYS = (
    select(DaySummaryRow.date, DaySummaryRow.exercise, DaySummaryRow.figures)
    .where(
        _OF_DAY,
        or_(
            DaySummaryRow.date.between(bindparam("first"), bindparam("last")),
            DaySummaryRow.date.between(bindparam("from"), bindparam("to")),
        ),
    )
    .order_by(DaySummaryRow.day, DaySummaryRow.exercise)
)
_STANDINGS = (
    select(DaySummaryRow.date, DaySummaryRow.standings)
    .where(
        _OF_DAY,
        DaySummaryRow.exercise == bindparam("exercise"),
        DaySummaryRow.date >= bindparam("first"),
    )
    .order_by(DaySummaryRow.day)
)
_TEXTS = _STANDINGS.with_only_columns(
    DaySummaryRow.date, cast(DaySummaryRow.standings, Text), maintain_column_froms=True
)
_CHECKS = (
    select(DailyCheck.day, DailyCheck.answers, DailyCheck.details, DailyCheck.average_pain)
    .where(
        DailyCheck.course_id == bindparam("course"),
        DailyCheck.day >= bindparam("first"),
        DailyCheck.at <= bindparam("now"),
    )
    .order_by(DailyCheck.day, DailyCheck.at)
)
_REPORTS = (
    select(TroubleReport.entered_at, TroubleReport.kind, TroubleReport.details)
    .where(
        TroubleReport.course_id == bindparam("course"),
        TroubleReport.entered_at >= bindparam("since"),
        TroubleReport.at <= bindparam("now"),
        TroubleReport.taken_back_at.is_(None),
    )
    .order_by(TroubleReport.entered_at)
)
_SINCE = and_(BoutRow.entered_at >= bindparam("since"), BoutRow.at <= bindparam("now"))
_LOGGED = select(BoutRow.id).where(BoutRow.course_id == bindparam("course"), _SINCE).limit(1)
_BOUTS = (
    select(BoutRow.done_at, BoutRow.entered_at)
    .join(Course, Course.id == BoutRow.course_id)
    .where(Course.patient_id == bindparam("patient"), _SINCE)
    .order_by(BoutRow.entered_at)
)
_LAST = select(func.max(BoutRow.done_at), func.max(BoutRow.entered_at)).where(
    BoutRow.course_id.in_(select(Course.id).where(Course.patient_id == bindparam("patient"))),
    _SINCE,
)
_ANSWERS = (
    select(PhoneItem.entered_at, PhoneItem.body)
    .join(Device, Device.id == PhoneItem.device_id)
    .where(
        Device.patient_id == bindparam("patient"),
        PhoneItem.type == "all_well",
        PhoneItem.entered_at > bindparam("since"),
        PhoneItem.at <= bindparam("now"),
    )
)
_PUSH = (
    select(Subscription.id)
    .join(Device, Device.id == Subscription.device_id)
    .where(
        Device.patient_id == bindparam("patient"),
        or_(Device.ended_at.is_(None), Device.ended_at > bindparam("now")),
        or_(Subscription.dead_at.is_(None), Subscription.dead_at > bindparam("now")),
    )
    .limit(1)
)
_PAINS = select(BoutRow.done_at, BoutRow.entered_at, BoutRow.pain).where(
    BoutRow.course_id == bindparam("course"),
    BoutRow.pain >= bindparam("least"),
    BoutRow.entered_at >= bindparam("since"),
    or_(
        and_(BoutRow.done_at.is_(None), BoutRow.entered_at < bindparam("until")),
        and_(BoutRow.done_at >= bindparam("since"), BoutRow.done_at < bindparam("until")),
    ),
)
_RELEASED = select(func.max(Release.starts)).where(
    Release.course_id == bindparam("course"),
    Release.starts <= bindparam("now"),
    Release.exercise.is_(None),
    or_(Release.lapsed_at.is_(None), Release.lapsed_at > bindparam("now")),
)
_UNDERSTOOD = (
    select(Understanding.item, Understanding.answer, Understanding.at)
    .where(Understanding.course_id == bindparam("course"), Understanding.at <= bindparam("now"))
    .order_by(Understanding.at)
)
