"""Gather what a clinician reads of one course at one `now`. Writes nothing."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.adherence import Figures, Judgement, figures, from_row, judge, total
from ..domain.course import day_number
from ..domain.regime import Phase, Regime
from ..domain.timetable import Setting, course_day, cut_slots, lay_out
from ..domain.timetable.span import day_start
from ..storage import alerts, contacts, courses, last_seen, patients, regimes, staff, timelines
from ..storage.bouts import bout_rows, bouts_of
from ..storage.models import (
    Alert,
    AlertEvent,
    BoutRow,
    Contact,
    Course,
    DailyCheck,
    DaySummaryRow,
    Device,
    HoldEnd,
    HoldRow,
    Identifier,
    Patient,
    Release,
    Repair,
    Revision,
    Visit,
)
from ..storage.rules import rules_of
from ..storage.summaries import summaries
from ..storage.visits import next_visit

ONE = timedelta(days=1)
WINDOWS = (3, 7)  # whole course days before the one in progress


@dataclass(frozen=True, slots=True)
class Logged:
    """A bout with what it came to. `joined`: another phone's log of the same go counts instead."""

    row: BoutRow
    joined: bool
    excess: int  # in the bout's unit
    in_no_slot: bool


@dataclass(frozen=True, slots=True)
class Review:
    """One course as it stands at one `now`."""

    course: Course
    patient: Patient
    identifiers: Sequence[Identifier]
    contacts: dict[str, Contact]
    devices: Sequence[Device]  # ended ones too
    state: str
    not_read_back: bool
    hand: str | None
    finger: str | None
    facts: dict[str, Any]
    repairs: Sequence[Repair]
    settings: Sequence[Setting]
    today: date  # the course day in progress
    revision: Revision | None
    regime: Regime | None
    phase: Phase | None
    phase_since: datetime | None
    visit: Visit | None
    examined: last_seen.Examination | None
    last_word: datetime | None
    days: Sequence[DaySummaryRow]
    holds: Sequence[tuple[HoldRow, HoldEnd | None]]
    revisions: Sequence[Revision]
    releases: Sequence[Release]
    alerts: Sequence[Alert]
    events: dict[uuid.UUID, list[AlertEvent]]
    checks: Sequence[DailyCheck]
    names: dict[uuid.UUID, str]  # of staff

    @property
    def operation(self) -> date:
        day: date = self.facts["operation_date"]
        return day

    def number(self, day: date) -> int:
        """The post-operative day of a date."""
        return day_number(day, self.operation)

    def day_of(self, instant: datetime) -> int:
        """The post-operative day an instant belongs to."""
        return self.number(course_day(self.settings, instant))

    def zone(self, instant: datetime) -> str:
        """Where the patient lived at an instant."""
        begun = [s.zone for s in self.settings if s.at <= instant]
        return begun[-1] if begun else self.settings[0].zone

    def window(self, exercise: str, first: date, last: date) -> Figures:
        """The figures of one exercise over course days [first, last]."""
        inside = (r for r in self.days if r.exercise == exercise and first <= r.date <= last)
        return figures(total(from_row(row.figures) for row in inside))

    def windows(self, exercise: str) -> list[tuple[str, Figures]]:
        """Last 3 and 7 whole days, and the stage so far with today."""
        before = self.today - ONE
        found = [
            (f"Last {n} whole days", self.window(exercise, self.today - n * ONE, before))
            for n in WINDOWS
        ]
        if self.phase_since is not None:
            first = course_day(self.settings, self.phase_since)
            found.append(("This stage, with today", self.window(exercise, first, self.today)))
        return found


def review_course(db: Session, course: Course, now: datetime) -> Review:
    """Everything the course's page shows but the log."""
    settings = timelines.settings_of(db, course, now)
    in_force = timelines.regime_in_force(db, course, now)
    phase = timelines.phase_in_force(db, course, now)
    released = regimes.releases(db, course, now)
    hand, finger = courses.hand_and_finger(db, course, now)
    told = alerts.alerts_of(db, course.id, now)
    events = alerts.events_of(db, [alert.id for alert in told])
    holds = _holds(db, course, now)
    revised = regimes.revisions(db, course, now)
    facts = courses.facts_in_force(db, course, now)
    who = _who(facts, holds, [*revised, *released, *_flat(events)])
    return Review(
        course=course,
        patient=db.get_one(Patient, course.patient_id),
        identifiers=patients.identifiers(db, course.patient_id),
        contacts=patients.contacts(db, course.patient_id, now),
        devices=patients.devices(db, course.patient_id),
        state=courses.state(db, course, now),
        not_read_back=courses.not_read_back(db, course, now),
        hand=hand,
        finger=finger,
        facts=facts,
        repairs=courses.repairs_in_force(db, course, now),
        settings=settings,
        today=course_day(settings, now),
        revision=in_force[0] if in_force else None,
        regime=in_force[1] if in_force else None,
        phase=phase,
        phase_since=_since(db, course, phase, released, now),
        visit=next_visit(db, course, now),
        examined=last_seen.last_examined(db, course, now),
        last_word=contacts.latest_contact(db, course.patient_id, now),
        days=summaries(db, course.id),
        holds=holds,
        revisions=revised,
        releases=released,
        alerts=told,
        events=events,
        checks=_checks(db, course, now),
        names=staff.names(db, course.clinic_id, who),
    )


def _since(
    db: Session, course: Course, phase: Phase | None, released: Iterable[Release], now: datetime
) -> datetime | None:
    """When the phase in force began: its release, or of phase 0 the confirmation."""
    if phase is None:
        return None
    begun = [
        row.starts
        for row in released
        if row.phase == phase.key and row.exercise is None and row.starts and row.starts <= now
    ]
    return max(begun) if begun else courses.confirmed_at(db, course, now)


def _holds(db: Session, course: Course, now: datetime) -> list[tuple[HoldRow, HoldEnd | None]]:
    """Holds with their ends, newest first."""
    rows = db.execute(
        select(HoldRow, HoldEnd)
        .outerjoin(HoldEnd, (HoldEnd.hold_id == HoldRow.id) & (HoldEnd.at <= now))
        .where(HoldRow.course_id == course.id, HoldRow.at <= now)
        .order_by(HoldRow.starts.desc(), HoldRow.id)
    )
    return [(hold, end) for hold, end in rows]


def _checks(db: Session, course: Course, now: datetime) -> list[DailyCheck]:
    """Daily checks, newest first."""
    return list(
        db.scalars(
            select(DailyCheck)
            .where(DailyCheck.course_id == course.id, DailyCheck.at <= now)
            .order_by(DailyCheck.day.desc(), DailyCheck.at.desc())
        )
    )


def _flat(events: dict[uuid.UUID, list[AlertEvent]]) -> list[AlertEvent]:
    return [event for each in events.values() for event in each]


def _who(
    facts: dict[str, Any],
    holds: Iterable[tuple[HoldRow, HoldEnd | None]],
    rows: Iterable[Revision | Release | AlertEvent],
) -> Collection[uuid.UUID]:
    """Everybody whose name the page needs."""
    found = {row.by_id for row in rows} | {hold.by_id for hold, _ in holds}
    found |= {end.by_id for _, end in holds if end}
    with suppress(ValueError):  # entered in words, or not yet
        found.add(uuid.UUID(str(facts.get("therapist"))))
    return {each for each in found if each is not None}


def _judged(db: Session, review: Review, since: datetime, now: datetime) -> Judgement:
    course, settings = review.course, review.settings
    slots = lay_out(settings, now + ONE, since)
    bouts, apart = bouts_of(
        db, course.id, since, now + ONE, now, lambda at: timelines.revision_at(settings, at)
    )
    return judge(
        slots, bouts, timelines.holds_of(db, course, now), cut_slots(settings, slots),
        contacts.contacts_of(db, course.patient_id, since, now), now,
        rules_of(db, course.clinic_id, now), apart,
    )  # fmt: skip


def read_log(db: Session, review: Review, days: int, now: datetime) -> list[Logged]:
    """The bouts of the last `days` course days, newest first, with what each came to.

    By the same rules, holds and revisions as the day summaries.
    """
    since = day_start(review.settings, review.today - (days - 1) * ONE)
    came_to = _judged(db, review, since - ONE, now).credit
    rows = bout_rows(db, review.course.id, since, now + ONE, now)
    none = came_to.no_slot()
    return [
        Logged(
            row,
            str(row.id) in came_to.joined,
            came_to.excess.get(str(row.id), 0),
            str(row.id) in none,
        )
        for row in reversed(rows)
    ]
