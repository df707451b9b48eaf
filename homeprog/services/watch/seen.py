"""One course at one `now`, as the watch sees it: each thing is read once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from sqlalchemy.orm import Session

from ...domain.alert import Circumstance, Kind
from ...domain.clock import ceil_minute, local
from ...domain.hold import HoldKind
from ...domain.regime import Phase, Regime
from ...domain.timetable import Setting, course_day
from ...domain.timetable.span import day_start
from ...storage import clinics
from ...storage.courses import facts_in_force, state
from ...storage.models import Course
from ...storage.timelines import holds_of, revision_at, settings_and_regime

ONE = timedelta(days=1)
HOLDS: Mapping[HoldKind, Circumstance] = {
    "pause": "paused", "stop_flag": "stopped", "hospital": "in_hospital", "until_release": "held",
}  # fmt: skip

# Kinds whose condition holds, with their figures; empty where it is told already and stands.
Found = Mapping[Kind, Mapping[str, Any]]


@dataclass(frozen=True)
class Watch:
    """One open course at one `now`."""

    db: Session
    course: Course
    now: datetime
    unsettled: frozenset[str] = frozenset()  # kinds of its alerts that are open or taken up

    @cached_property
    def _timeline(self) -> tuple[tuple[Setting, ...], Regime | None]:
        return settings_and_regime(self.db, self.course, self.now)

    @property
    def settings(self) -> tuple[Setting, ...]:
        return self._timeline[0]

    @property
    def regime(self) -> Regime | None:
        """The regime in force."""
        return self._timeline[1]

    @cached_property
    def today(self) -> date:
        """The course day in progress."""
        return course_day(self.settings, self.now)

    @cached_property
    def setting_now(self) -> Setting | None:
        """The setting in force; what was saved in the minute of `now` counts."""
        begun = [each for each in self.settings if each.at <= ceil_minute(self.now)]
        return begun[-1] if begun else None

    @cached_property
    def phase(self) -> Phase | None:
        """The phase in force."""
        key = self.setting_now.phase if self.setting_now else None
        return self.regime.phase(key) if self.regime and key else None

    @property
    def leading(self) -> str | None:
        """The key of the leading exercise; None where splint wear leads."""
        return self.phase.leading if self.phase else None

    @cached_property
    def operation(self) -> date:
        day: date = facts_in_force(self.db, self.course, self.now)["operation_date"]
        return day

    @cached_property
    def clinic_zone(self) -> str:
        return clinics.clinic_of(self.db, self.course.clinic_id).zone

    @cached_property
    def clinic_today(self) -> date:
        """The date by the clinic's clock."""
        return local(self.now, self.clinic_zone).date()

    @cached_property
    def own(self) -> dict[str, Any]:
        """The clinic's settings in force."""
        return clinics.settings(self.db, self.course.clinic_id, self.now)

    @property
    def timely(self) -> timedelta:
        """How long after its end a slot waits to be past."""
        return timedelta(minutes=self.own["timely_minutes"])

    @cached_property
    def circumstances(self) -> frozenset[Circumstance]:
        """What makes kinds of alert go quiet."""
        on = [h for h in holds_of(self.db, self.course, self.now) if h.on_at(self.now)]
        found: set[Circumstance] = {HOLDS[h.kind] for h in on if h.covers(self.leading or "")}
        if self.leading is None:
            found.add("no_leading")
        if state(self.db, self.course, self.now) == "closed":
            found.add("closed")
        return frozenset(found)

    def phase_since(self) -> datetime | None:
        """When the phase in force began."""
        began: datetime | None = None
        key = self.phase.key if self.phase else None
        for setting in reversed(self.settings):
            if setting.at > ceil_minute(self.now):
                continue
            if setting.phase != key:
                break
            began = setting.at
        return began

    def started(self) -> datetime | None:
        """The first release of a phase with a leading exercise; None before it."""
        phases = self.regime.phases[1:] if self.regime else ()
        leading = {phase.key for phase in phases if phase.leading}
        return next((s.at for s in self.settings if s.phase in leading), None)

    def waking(self, day: date) -> datetime:
        """The waking with which a course day begins."""
        return day_start(self.settings, day)

    def day_of(self, instant: datetime) -> date:
        """The course day an instant belongs to."""
        return course_day(self.settings, instant)

    def revision_at(self, instant: datetime) -> int | None:
        """The number of the revision in force at an instant."""
        return revision_at(self.settings, instant)
