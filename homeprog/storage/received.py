"""Changes that take something back, and the phones that do not know of them yet."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Select,
    Text,
    and_,
    bindparam,
    cast,
    exists,
    func,
    literal,
    or_,
    select,
)
from sqlalchemy.orm import Session

from ..domain.regime import limited_phases
from .base import Instant
from .columns import columns
from .models import (
    Alert,
    ContactMarkRow,
    Course,
    CourseEvent,
    Device,
    HoldEnd,
    HoldRow,
    Release,
    Revision,
    TroubleReport,
)
from .regimes import parsed, regime_of

LOOK_BACK = timedelta(days=14)  # of the tick's question: 4 clinic hours lie within it


@dataclass(frozen=True, slots=True)
class Change:
    """A change of a course that some paired phone has not fetched."""

    what: str  # hold | revision | release
    id: uuid.UUID
    course_id: uuid.UUID
    at: datetime
    phones: int  # that have not fetched the plan since


def courses_waiting(db: Session, now: datetime) -> list[uuid.UUID]:
    """Open courses with a change that has not reached every phone; what it takes back is unasked.

    Not those that are told of it already: the first word of a phone is news of them.
    """
    found: set[uuid.UUID] = set()
    for question in _WAITING.values():
        found |= {row[2] for row in columns(db, question, _meant(now))}
    return sorted(found)


def changes_not_received(db: Session, course: Course, now: datetime) -> list[Change]:
    """The course's changes that some phone has not fetched, whatever they change, however old."""
    return [
        Change(*row)
        for question in _OF_COURSE.values()
        for row in columns(db, question, {"course": course.id} | _meant(now))
    ]


def _meant(now: datetime) -> dict[str, datetime]:
    return {"now": now, "early": now - LOOK_BACK}


def takes_back(db: Session, change: Change) -> bool:
    """Whether it takes something back: a hold does, a revision may, and going back a stage."""
    if change.what == "revision":
        return _limits(db, db.get_one(Revision, change.id))
    return change.what == "hold" or _goes_back(db, db.get_one(Release, change.id))


def _limits(db: Session, row: Revision) -> bool:
    before = db.scalars(
        select(Revision)
        .where(
            Revision.course_id == row.course_id,
            Revision.number < row.number,
            Revision.effective_from.is_not(None),
        )
        .order_by(Revision.number.desc())
        .limit(1)
    ).first()
    if before is None:
        return False
    return bool(row.limits or limited_phases(regime_of(before.body), regime_of(row.body)))


def _goes_back(db: Session, row: Release) -> bool:
    """Whether a release begun before was of a later stage."""
    body = columns(db, _BODY, {"revision": row.revision_id})[0][0]
    keys = [each.key for each in parsed(body).phases]
    earlier = columns(db, _EARLIER, {"course": row.course_id, "starts": row.starts})
    place = keys.index(row.phase) if row.phase in keys else 0
    return any(keys.index(key) > place for (key,) in earlier if key in keys)


NOW: BindParameter[datetime] = bindparam("now", type_=Instant())
EARLY: BindParameter[datetime] = bindparam("early", type_=Instant())


def _unfetched(what: str) -> Select[Any]:
    """(what, id, course, at, phones) of changes of one table in which a phone is behind."""
    row, since, wanted = ROWS[what]
    fetched = exists().where(
        ContactMarkRow.device_id == Device.id,
        ContactMarkRow.kind == "plan",
        ContactMarkRow.at >= since,
        ContactMarkRow.at <= NOW,
    )
    paired = and_(Device.at <= since, or_(Device.ended_at.is_(None), Device.ended_at > NOW))
    return (
        select(literal(what), row.id, row.course_id, since, func.count(Device.id))
        .join(Course, Course.id == row.course_id)
        .join(Device, Device.patient_id == Course.patient_id)
        .where(since <= NOW, paired, ~fetched, *wanted())
        .group_by(row.id, row.course_id, since)
    )


def _holds() -> Iterator[ColumnElement[bool]]:
    """Holds that are on, but for the phone the stop flag was set on: it knows."""
    ended = exists().where(HoldEnd.hold_id == HoldRow.id, HoldEnd.at <= NOW)
    its_own = exists().where(
        TroubleReport.id == HoldRow.trouble_id, TroubleReport.device_id == Device.id
    )
    yield ~ended
    yield ~its_own


def _revisions() -> Iterator[ColumnElement[bool]]:
    yield Revision.cancelled_by_id.is_(None)
    yield Revision.number > 1
    yield Revision.effective_from <= NOW


def _releases() -> Iterator[ColumnElement[bool]]:
    yield Release.exercise.is_(None)
    yield Release.lapsed_at.is_(None)


ROWS: dict[str, tuple[Any, Any, Any]] = {
    "hold": (HoldRow, HoldRow.at, _holds),
    "revision": (Revision, Revision.effective_from, _revisions),
    "release": (Release, Release.starts, _releases),
}

# Put together once: these are asked at each tick.
_BODY = select(cast(Revision.body, Text)).where(Revision.id == bindparam("revision"))
_EARLIER = select(Release.phase).where(
    Release.course_id == bindparam("course"),
    Release.starts < bindparam("starts"),
    Release.exercise.is_(None),
    Release.lapsed_at.is_(None),
)
_TOLD = exists().where(
    Alert.course_id == Course.id,
    Alert.kind == "plan_not_received",
    Alert.state.in_(("open", "taken_up")),
)
_CLOSED = exists().where(CourseEvent.course_id == Course.id, CourseEvent.kind == "closed")
_WAITING = {
    what: _unfetched(what).where(since >= EARLY, ~_TOLD, ~_CLOSED)
    for what, (_, since, _) in ROWS.items()
}
_OF_COURSE = {what: _unfetched(what).where(Course.id == bindparam("course")) for what in ROWS}
