"""From rows to what was in force when: settings of the timetable, holds, phase, zone."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import cast

from sqlalchemy import and_, bindparam, select
from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute, floor_minute
from ..domain.hold import Hold, HoldKind
from ..domain.regime import Exercise, Phase, Regime, Rehearsal
from ..domain.timetable import DEFAULT_WEEK, Asked, Setting, Waking, Week
from .columns import columns
from .histories import (
    Released,
    Revised,
    Woken,
    clinic_zone,
    released,
    revised,
    turning_points,
    wakings,
    zone_stays,
)
from .models import Course, HoldEnd, HoldRow, Patient, Revision

LONG_AGO = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class _History:
    """The rows of one course that bear on its timetable, with the instants they take effect."""

    opened: datetime
    confirmed: datetime | None
    closed: datetime | None
    revisions: tuple[tuple[datetime, Revised], ...]  # by number
    releases: tuple[tuple[datetime, Released], ...]  # begun ones, by instant
    wakings: tuple[tuple[datetime, Woken], ...]
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

    def revision(self, at: datetime) -> Revised | None:
        """The highest-numbered revision with effective_from at or before `at`."""
        return next((row for start, row in reversed(self.revisions) if start <= at), None)

    def phase(self, at: datetime) -> Phase | None:
        """Of the latest release of a phase, or phase 0; None where no phase is in force."""
        row = self.revision(at)
        if row is None or not self.open_at(at):
            return None
        _, key = self._released(row.regime, at)
        return row.regime.phase(key)

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
        since, _ = self._released(row.regime, at)
        freed = {
            release.exercise
            for start, release in self.releases
            if release.phase == phase.key and since <= start <= at
        }
        return tuple(e for e in phase.exercises if not e.held_until_release or e.key in freed)

    def _due(self, at: datetime) -> tuple[Exercise | Rehearsal, ...]:
        """What has slots: the exercises asked for, and the phase's rehearsal."""
        phase = self.phase(at)
        rehearsed = (phase.rehearsal,) if phase is not None and phase.rehearsal else ()
        return (*self.asked(at), *rehearsed)

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
            asked=tuple(Asked(e.key, e.dose, e.schedule) for e in self._due(at)),
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
    return _settings(_history(db, course, now))


@dataclass(frozen=True, slots=True)
class InForce:
    """What `settings_of`, `regime_in_force` and `phase_in_force` say, of a history read once."""

    settings: tuple[Setting, ...]
    regime: Regime | None
    phase: Phase | None


def in_force(db: Session, course: Course, now: datetime) -> InForce:
    """Read it."""
    history, soon = _history(db, course, now), ceil_minute(now)
    row = history.revision(soon)
    return InForce(_settings(history), row.regime if row else None, history.phase(soon))


def settings_and_regime(
    db: Session, course: Course, now: datetime
) -> tuple[tuple[Setting, ...], Regime | None]:
    """The settings and the regime alone."""
    held = in_force(db, course, now)
    return held.settings, held.regime


def _settings(history: _History) -> tuple[Setting, ...]:
    found: list[Setting] = []
    for setting in map(history.setting, history.instants()):
        if not found or setting.limits or replace(found[-1], at=setting.at) != setting:
            found.append(setting)
    return tuple(found)


def revision_at(settings: Sequence[Setting], instant: datetime) -> int | None:
    """The number of the revision in force at an instant; None before the course's opening."""
    return next((s.revision for s in reversed(settings) if s.at <= instant), None)


def holds_of(db: Session, course: Course, now: datetime) -> tuple[Hold, ...]:
    """The course's holds received by `now`, by start; the end only if it was received too."""
    meant = {"clinic": course.clinic_id, "course": course.id, "now": now}
    rows = columns(db, _HOLDS, meant)
    return tuple(Hold(cast(HoldKind, kind), *rest) for kind, *rest in rows)


_HOLDS = (  # built once: asked at every upload
    select(HoldRow.kind, HoldRow.starts, HoldEnd.ends, HoldRow.exercise)
    .outerjoin(HoldEnd, and_(HoldEnd.hold_id == HoldRow.id, HoldEnd.at <= bindparam("now")))
    .where(
        HoldRow.clinic_id == bindparam("clinic"),
        HoldRow.course_id == bindparam("course"),
        HoldRow.at <= bindparam("now"),
    )
    .order_by(HoldRow.starts, HoldRow.id)
)


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
    return (db.get_one(Revision, row.id), row.regime) if row else None


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
    for start, zone in reversed(zone_stays(db, patient_id, now)):
        if start <= now:
            return zone
    return clinic_zone(db, db.get_one(Patient, patient_id).clinic_id)


def _history(db: Session, course: Course, now: datetime) -> _History:
    events = turning_points(db, course, now)
    zone = clinic_zone(db, course.clinic_id)
    return _History(
        opened=floor_minute(course.at),
        confirmed=events.get("confirmed"),
        closed=events.get("closed"),
        revisions=tuple(revised(db, course, now)),
        releases=tuple(sorted(released(db, course, now), key=_instant)),
        wakings=tuple(wakings(db, course, now)),
        zones=((LONG_AGO, zone), *zone_stays(db, course.patient_id, now)),
    )


def _instant(dated: tuple[datetime, Released]) -> datetime:
    return dated[0]
