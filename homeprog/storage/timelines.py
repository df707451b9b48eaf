"""From rows to what was in force when: settings of the timetable, holds, phase, zone."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import cast

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute, floor_minute
from ..domain.hold import Hold, HoldKind
from ..domain.regime import Exercise, Phase, Regime
from ..domain.timetable import DEFAULT_WEEK, Asked, Setting, Waking, Week
from .models import (
    Clinic,
    Course,
    CourseEvent,
    HoldEnd,
    HoldRow,
    Patient,
    Release,
    Revision,
    WakingHours,
    ZoneStay,
)
from .regimes import regime_of, releases, revisions

LONG_AGO = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class _History:
    """The rows of one course that bear on its timetable, with the instants they take effect."""

    opened: datetime
    confirmed: datetime | None
    closed: datetime | None
    revisions: tuple[tuple[datetime, Revision], ...]  # by number
    releases: tuple[tuple[datetime, Release], ...]  # begun ones, by instant
    wakings: tuple[tuple[datetime, WakingHours], ...]
    zones: tuple[tuple[datetime, str], ...]

    def instants(self) -> list[datetime]:
        """When anything changes, ascending, from the opening on."""
        dated: tuple[Sequence[tuple[datetime, object]], ...] = (
            self.revisions, self.releases, self.wakings, self.zones,
        )  # fmt: skip
        found = {self.opened, *(at for rows in dated for at, _ in rows)}
        found |= {at for at in (self.confirmed, self.closed) if at}
        return sorted(at for at in found if at >= self.opened)

    def open_at(self, at: datetime) -> bool:
        """Whether the course is confirmed and not closed."""
        confirmed = self.confirmed is not None and self.confirmed <= at
        return confirmed and (self.closed is None or at < self.closed)

    def revision(self, at: datetime) -> Revision | None:
        """The highest-numbered revision with effective_from at or before `at`."""
        return next((row for start, row in reversed(self.revisions) if start <= at), None)

    def phase(self, at: datetime) -> Phase | None:
        """Of the latest release of a phase, or phase 0; None where no phase is in force."""
        row = self.revision(at)
        if row is None or not self.open_at(at):
            return None
        regime = regime_of(row.body)
        _, key = self._released(regime, at)
        return regime.phase(key)

    def _released(self, regime: Regime, at: datetime) -> tuple[datetime, str]:
        """The phase in force and since when."""
        whole = [(start, row.phase) for start, row in self.releases if row.exercise is None]
        begun = [each for each in whole if each[0] <= at]
        return begun[-1] if begun else (self.opened, regime.phase_zero.key)

    def asked(self, at: datetime) -> tuple[Exercise, ...]:
        """The exercises asked for: those held apart only once released since the phase began."""
        row, phase = self.revision(at), self.phase(at)
        if row is None or phase is None:
            return ()
        since, _ = self._released(regime_of(row.body), at)
        freed = {
            release.exercise
            for start, release in self.releases
            if release.phase == phase.key and since <= start <= at
        }
        return tuple(e for e in phase.exercises if not e.held_until_release or e.key in freed)

    def setting(self, at: datetime) -> Setting:
        """Everything the grid depends on at `at`."""
        row, phase = self.revision(at), self.phase(at)
        limits = {key for start, each in self.revisions if start == at for key in each.limits}
        return Setting(
            at=at,
            zone=next(zone for start, zone in reversed(self.zones) if start <= at),
            week=self._week(at),
            phase=phase.key if phase else None,
            revision=row.number if row else 0,
            asked=tuple(Asked(e.key, e.dose, e.schedule) for e in self.asked(at)),
            limits=frozenset(limits),
        )

    def _week(self, at: datetime) -> Week:
        days = list(DEFAULT_WEEK)
        for start, row in self.wakings:
            if start <= at:
                days[row.weekday] = Waking(row.wake, row.sleep)
        return cast(Week, tuple(days))


def settings_of(db: Session, course: Course, now: datetime) -> tuple[Setting, ...]:
    """What the timetable is laid out from, as known at `now`; never empty, ascending.

    The first is that of the course's opening, without a phase. What was saved in the minute of
    `now` takes effect at the next whole minute, so the last may lie up to 59 s ahead.
    """
    history = _history(db, course, now)
    found: list[Setting] = []
    for setting in map(history.setting, history.instants()):
        if not found or setting.limits or replace(found[-1], at=setting.at) != setting:
            found.append(setting)
    return tuple(found)


def holds_of(db: Session, course: Course, now: datetime) -> tuple[Hold, ...]:
    """The course's holds received by `now`, by start; the end only if it was received too."""
    rows = db.execute(
        select(HoldRow, HoldEnd.ends)
        .outerjoin(HoldEnd, and_(HoldEnd.hold_id == HoldRow.id, HoldEnd.at <= now))
        .where(
            HoldRow.clinic_id == course.clinic_id,
            HoldRow.course_id == course.id,
            HoldRow.at <= now,
        )
        .order_by(HoldRow.starts, HoldRow.id)
    )
    return tuple(Hold(cast(HoldKind, h.kind), h.starts, end, h.exercise) for h, end in rows)


def open_holds(db: Session, course: Course, now: datetime) -> list[HoldRow]:
    """The rows of holds that have not been ended, oldest first."""
    return list(
        db.scalars(
            select(HoldRow)
            .outerjoin(HoldEnd, and_(HoldEnd.hold_id == HoldRow.id, HoldEnd.at <= now))
            .where(
                HoldRow.clinic_id == course.clinic_id,
                HoldRow.course_id == course.id,
                HoldRow.at <= now,
                HoldEnd.id.is_(None),
            )
            .order_by(HoldRow.starts, HoldRow.id)
        )
    )


def regime_in_force(db: Session, course: Course, now: datetime) -> tuple[Revision, Regime] | None:
    """The revision in force and its regime; None before the first.

    A change saved in the minute of `now` counts: it takes effect at the next whole minute.
    """
    row = _history(db, course, now).revision(ceil_minute(now))
    return (row, regime_of(row.body)) if row else None


def phase_in_force(db: Session, course: Course, now: datetime) -> Phase | None:
    """The phase in force; None before confirmation or a regime, and after closing.

    A change saved in the minute of `now` counts, as in `regime_in_force`.
    """
    return _history(db, course, now).phase(ceil_minute(now))


def exercises_in_force(db: Session, course: Course, now: datetime) -> tuple[Exercise, ...]:
    """What is asked for: the phase's exercises but for those held until a release of their own."""
    return _history(db, course, now).asked(ceil_minute(now))


def zone_at(db: Session, patient_id: uuid.UUID, now: datetime) -> str:
    """The patient's zone at `now`; the clinic's until another was said."""
    patient = db.get_one(Patient, patient_id)
    clinic = db.get_one(Clinic, patient.clinic_id)
    stays = _zones(db, patient_id, now)
    return next((zone for start, zone in reversed(stays) if start <= now), clinic.zone)


def _history(db: Session, course: Course, now: datetime) -> _History:
    events = _events(db, course, now)
    opened = floor_minute(course.at)
    clinic = db.get_one(Clinic, course.clinic_id)
    begun = [(row.starts, row) for row in releases(db, course, now) if _begun(row, now)]
    return _History(
        opened=opened,
        confirmed=events.get("confirmed"),
        closed=events.get("closed"),
        revisions=tuple(_effective(revisions(db, course, now))),
        releases=tuple(sorted(((ceil_minute(at), r) for at, r in begun if at), key=_instant)),
        wakings=_wakings(db, course, now),
        zones=((LONG_AGO, clinic.zone), *_zones(db, course.patient_id, now)),
    )


def _instant(dated: tuple[datetime, Release]) -> datetime:
    return dated[0]


def _begun(row: Release, now: datetime) -> bool:
    return row.starts is not None and (row.lapsed_at is None or row.lapsed_at > now)


def _effective(rows: Sequence[Revision]) -> Iterator[tuple[datetime, Revision]]:
    """Each revision that has, or will have, taken effect; a cancelled one never did."""
    for row in rows:
        if row.cancelled_by_id is None and row.effective_from is not None:
            yield ceil_minute(row.effective_from), row


def _events(db: Session, course: Course, now: datetime) -> dict[str, datetime]:
    """The first confirmation and the closing, to the next whole minute."""
    rows = db.scalars(
        select(CourseEvent)
        .where(
            CourseEvent.clinic_id == course.clinic_id,
            CourseEvent.course_id == course.id,
            CourseEvent.kind.in_(("confirmed", "closed")),
            CourseEvent.at <= now,
        )
        .order_by(CourseEvent.at.desc())
    )
    return {row.kind: ceil_minute(row.at) for row in rows}


def _wakings(
    db: Session, course: Course, now: datetime
) -> tuple[tuple[datetime, WakingHours], ...]:
    rows = db.scalars(
        select(WakingHours)
        .where(
            WakingHours.clinic_id == course.clinic_id,
            WakingHours.patient_id == course.patient_id,
            WakingHours.at <= now,
        )
        .order_by(WakingHours.valid_from, WakingHours.at, WakingHours.id)
    )
    return tuple((ceil_minute(row.valid_from), row) for row in rows)


def _zones(db: Session, patient_id: uuid.UUID, now: datetime) -> list[tuple[datetime, str]]:
    rows = db.scalars(
        select(ZoneStay)
        .where(ZoneStay.patient_id == patient_id, ZoneStay.at <= now)
        .order_by(ZoneStay.starts, ZoneStay.at, ZoneStay.id)
    )
    return [(ceil_minute(row.starts), row.zone) for row in rows]
