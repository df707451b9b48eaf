"""The caseload: what is known of one open course, and the lines of a clinic, a page at a time."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import ColumnElement, ScalarSelect, and_, case, func, select, true
from sqlalchemy.orm import InstrumentedAttribute, Session

from ..domain.alert import UNSETTLED
from ..domain.caseload import (
    GROUP_STEP,
    GROUPS,
    NO_CONTACT,
    AlertState,
    Circumstances,
    Group,
    Level,
    OpenAlert,
    Reason,
    ReasonCode,
)
from ..domain.regime import Phase
from ..domain.trouble import TROUBLES
from . import alerts, last_seen
from .base import Row, newest_first
from .caseload_choice import ALL, STAGE, Choice, conditions
from .courses import state
from .models import (
    Alert,
    AlertEvent,
    CaseloadLine,
    Contact,
    ContactMarkRow,
    Course,
    Device,
    HoldRow,
    Identifier,
    Patient,
    Staff,
    Visit,
)
from .timelines import InForce, open_holds

PAGE = 50  # lines
HOLD_REASONS: Mapping[str, ReasonCode] = {
    "pause": "paused", "stop_flag": "stopped", "hospital": "in_hospital", "until_release": "held",
}  # fmt: skip


def circumstances(
    db: Session, course: Course, held: InForce, visit: Visit | None, now: datetime
) -> Circumstances:
    """What decides where an open course stands. `held` is in force, `visit` is the next one."""
    regime, phase = held.regime, held.phase
    confirmed = state(db, course, now) == "confirmed"
    word, told = _words(db, course, now)
    exercising = phase is not None and regime is not None and phase.key != _first(regime.phases)
    return Circumstances(
        opened=course.at,
        phones=_phones(db, course),
        holds=[_reason(hold) for hold in open_holds(db, course, now) if hold.exercise is None],
        alerts=[_open_alert(a) for a in alerts.unsettled(db, course.clinic_id, [course.id])],
        last_word=word,
        silent=told is not None and (word is None or word < told),
        last_seen=last_seen.last_seen(db, course, now),
        next_visit=visit.planned if visit else None,
        confirmed=confirmed,
        has_regime=regime is not None,
        released=exercising or not confirmed,
    )


def _first(phases: Sequence[Phase]) -> str:
    return phases[0].key


def _phones(db: Session, course: Course) -> int:
    """Phones of the patient that are paired."""
    return db.scalars(
        select(func.count())
        .select_from(Device)
        .where(Device.patient_id == course.patient_id, Device.ended_at.is_(None))
    ).one()


def _words(db: Session, course: Course, now: datetime) -> tuple[datetime | None, datetime | None]:
    """The last word from any phone, and the newest 'no contact' that staff settled."""
    word = select(func.max(ContactMarkRow.at)).join(Device, Device.id == ContactMarkRow.device_id)
    told = select(func.max(Alert.at)).where(
        Alert.course_id == course.id, Alert.kind == NO_CONTACT, Alert.state == "settled"
    )
    mine = word.where(Device.patient_id == course.patient_id, ContactMarkRow.at <= now)
    row = db.execute(select(mine.scalar_subquery(), told.scalar_subquery())).one()
    return row[0], row[1]


def _reason(hold: HoldRow) -> Reason:
    return Reason(HOLD_REASONS[hold.kind], hold.starts, hold.planned_end, hold.reason)


EMERGENCIES = frozenset(kind for kind, trouble in TROUBLES.items() if trouble.emergency)


def _open_alert(row: Alert) -> OpenAlert:
    level, stands = cast(Level, row.level), cast(AlertState, row.state)
    emergency = row.figures.get("trouble") in EMERGENCIES
    return OpenAlert(str(row.id), row.kind, level, stands, row.clock_starts, emergency)


def line_of(db: Session, course: Course) -> CaseloadLine | None:
    """The course's line, read anew."""
    return db.scalars(
        select(CaseloadLine)
        .where(CaseloadLine.course_id == course.id)
        .execution_options(populate_existing=True)
    ).first()


@dataclass(frozen=True, slots=True)
class AlertLine:
    """An unsettled alert with whoever took it up."""

    alert: Alert
    taken_by: str | None
    taken_at: datetime | None


@dataclass(frozen=True, slots=True)
class Line:
    """One course as the page shows it."""

    line: CaseloadLine
    course: Course
    patient: Patient
    number: str | None  # hospital number
    tel: str | None
    best_times: str | None
    last_word: datetime | None  # from any phone
    alerts: tuple[AlertLine, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """Fifty lines or fewer, most in need first, and how many courses each group holds."""

    lines: tuple[Line, ...]
    counts: Mapping[Group, int]
    number: int  # 1 is the first
    stages: tuple[str, ...]  # of all who are at home, by name

    @property
    def total(self) -> int:
        return sum(self.counts.values())

    @property
    def pages(self) -> int:
        return max(1, -(-self.total // PAGE))


def page(
    db: Session, clinic_id: uuid.UUID, number: int, now: datetime, choice: Choice = ALL
) -> Page:
    """A page of the clinic's caseload: three queries, however many courses there are.

    A `number` beyond the last page means the last: lines leave while somebody turns pages.
    """
    here, chosen = CaseloadLine.clinic_id == clinic_id, conditions(choice, now)
    counts, stages = _counts(db, here, chosen)
    number = max(1, min(number, -(-sum(counts.values()) // PAGE)))
    rows = _rows(db, [here, *chosen], number, now)
    told = _alerts(db, [row[1].id for row in rows])
    lines = [Line(*row, tuple(told.get(row[1].id, ()))) for row in rows]
    return Page(tuple(lines), counts, number, stages)


Found = tuple[CaseloadLine, Course, Patient, str | None, str | None, str | None, datetime | None]


def _rows(
    db: Session, wanted: Sequence[ColumnElement[bool]], number: int, now: datetime
) -> list[Found]:
    """The page's lines by rank, each with what is newest of its patient."""
    here = (
        select(CaseloadLine.id)
        .where(*wanted)
        .order_by(CaseloadLine.rank, CaseloadLine.id)
        .limit(PAGE)
        .offset((number - 1) * PAGE)
        .subquery()
    )
    hospital = Identifier.patient_id == Patient.id, Identifier.kind == "hospital"
    own = Contact.patient_id == Patient.id, Contact.whose == "patient", Contact.at <= now
    word = (
        select(func.max(ContactMarkRow.at))
        .join(Device, Device.id == ContactMarkRow.device_id)
        .where(Device.patient_id == Patient.id, ContactMarkRow.at <= now)
    )
    found = db.execute(
        select(
            CaseloadLine,
            Course,
            Patient,
            _newest(Identifier.value, *hospital),
            _newest(Contact.tel, *own),
            _newest(Contact.best_times, *own),
            word.correlate(Patient).scalar_subquery(),
        )
        .join(here, here.c.id == CaseloadLine.id)
        .join(Course, Course.id == CaseloadLine.course_id)
        .join(Patient, Patient.id == Course.patient_id)
        .order_by(CaseloadLine.rank, CaseloadLine.id)
    )  # fmt: skip
    return [cast(Found, tuple(row)) for row in found]


def _newest(value: InstrumentedAttribute[Any], *wanted: ColumnElement[bool]) -> ScalarSelect[Any]:
    """Of the rows of a patient that are meant, what the newest says."""
    row = cast(type[Row], value.class_)
    newest = select(value).where(*wanted).order_by(*newest_first(row)).limit(1)
    return newest.correlate(Patient).scalar_subquery()


def _alerts(db: Session, courses: list[uuid.UUID]) -> dict[uuid.UUID, list[AlertLine]]:
    rows = db.execute(
        select(Alert, Staff.name, AlertEvent.at)
        .outerjoin(AlertEvent, (AlertEvent.alert_id == Alert.id) & (AlertEvent.what == "taken_up"))
        .outerjoin(Staff, Staff.id == AlertEvent.by_id)
        .where(Alert.course_id.in_(courses), Alert.state.in_(UNSETTLED))
        .order_by(Alert.clock_starts, Alert.id, AlertEvent.at)
    )
    # One that was handed back may be taken up again: the last taking up counts.
    lines = {alert.id: AlertLine(alert, name, at) for alert, name, at in rows}
    found: dict[uuid.UUID, list[AlertLine]] = {}
    for line in lines.values():
        found.setdefault(line.alert.course_id, []).append(line)
    return found


def _counts(
    db: Session, here: ColumnElement[bool], chosen: Sequence[ColumnElement[bool]]
) -> tuple[dict[Group, int], tuple[str, ...]]:
    """How many of those chosen each group holds; the stages of all that are here."""
    group = CaseloadLine.rank // GROUP_STEP
    meant = func.sum(case((and_(true(), *chosen), 1), else_=0))
    rows = db.execute(select(group, STAGE, meant).where(here).group_by(group, STAGE)).all()
    counts = dict.fromkeys(GROUPS, 0)
    for index, _, count in rows:
        counts[GROUPS[int(index)]] += count
    return counts, tuple(sorted({stage for _, stage, _ in rows if stage}))
