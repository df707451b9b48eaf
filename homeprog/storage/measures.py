"""What the measures of a course are made of, read at one `now`."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property

from sqlalchemy.orm import Session

from ..domain.adherence import DaySummary, from_row
from ..domain.adherence.gaps import Go, Window
from ..domain.adherence.pattern import SlotSeen
from ..domain.check import CheckDay
from ..domain.clock import ceil_minute, local
from ..domain.regime import Phase
from ..domain.timetable import Setting, course_day
from ..domain.timetable.span import day_start
from .bouts import bout_rows
from .check_days import Spell, began, check_days, phase_at, spells_of
from .grounds import standing
from .models import BoutRow, Course, DaySummaryRow
from .reminders import reminder_states
from .rules import rules_of
from .summaries import summaries
from .timelines import settings_of

ONE = timedelta(days=1)
Days = tuple[date, date]  # course days, both ends included


@dataclass(frozen=True)
class Material:
    """The rows of one course as the measures take them; everything ascends in time."""

    course: Course
    now: datetime
    settings: Sequence[Setting]
    spells: Sequence[Spell]
    rows: Sequence[DaySummaryRow]
    bouts: Sequence[BoutRow]
    checks: Sequence[CheckDay]  # of every day; today only once something was said
    reminders: Mapping[tuple[str, datetime], str]  # read only where something is rehearsed
    timely: timedelta  # the clinic's: after a slot's end, until it is past

    @cached_property
    def today(self) -> date:
        """The course day in progress."""
        return course_day(self.settings, self.now)

    @cached_property
    def phase(self) -> Phase | None:
        """The phase in force; one that begins with the next minute counts."""
        return phase_at(self.spells, ceil_minute(self.now))

    @cached_property
    def phase_began(self) -> date | None:
        """The course day on which the phase in force began."""
        at = began(self.spells, ceil_minute(self.now))
        return course_day(self.settings, at) if at else None

    @property
    def released(self) -> date | None:
        """The course day of the release of the phase in force; phase 0 needs none."""
        return self.phase_began if self.phase and self.phase.gated else None

    @cached_property
    def first_released(self) -> datetime | None:
        """When a phase with a leading exercise was first in force."""
        return next((at for at, phase in self.spells if phase and phase.leading), None)

    @cached_property
    def rehearsals(self) -> Mapping[str, str]:
        """Name by key of everything ever rehearsed: in no figure."""
        held = (phase.rehearsal for _, phase in self.spells if phase)
        return {each.key: each.name for each in held if each}

    @cached_property
    def exercises(self) -> Mapping[str, str]:
        """Name by key of every exercise ever asked for."""
        phases = [phase for _, phase in self.spells if phase]
        return {each.key: each.name for phase in phases for each in phase.exercises}

    def day_of(self, instant: datetime) -> date:
        """The course day an instant belongs to."""
        return course_day(self.settings, instant)

    def zone(self, instant: datetime) -> str:
        """The zone lived in at an instant."""
        begun = [each.zone for each in self.settings if each.at <= instant]
        return begun[-1] if begun else self.settings[0].zone

    def _rows(self, exercise: str, days: Days | None) -> list[DaySummaryRow]:
        mine = (row for row in self.rows if row.exercise == exercise)
        return [row for row in mine if days is None or days[0] <= row.date <= days[1]]

    def figures(self, exercise: str, days: Days | None = None) -> list[tuple[date, DaySummary]]:
        """Course day and figures of one exercise."""
        return [(row.date, from_row(row.figures)) for row in self._rows(exercise, days)]

    def all_figures(self) -> list[tuple[date, DaySummary]]:
        """Course day and figures of every exercise, for pain alone; rehearsals left out."""
        mine = (row for row in self.rows if row.exercise not in self.rehearsals)
        return [(row.date, from_row(row.figures)) for row in mine]

    def slots(self, exercise: str, days: Days | None = None) -> list[SlotSeen]:
        """Each slot of one exercise, with the local hour it begins in."""
        return [slot for row in self._rows(exercise, days) for slot in self._seen(row)]

    def windows(self, exercise: str, days: Days | None = None) -> list[list[Window]]:
        """The past slots of one exercise, course day by course day."""
        rows = self._rows(exercise, days)
        return [[each for each, past in self._windows(row) if past] for row in rows]

    def goes(self, exercise: str, days: Days | None = None) -> list[Go]:
        """The logged goes of one exercise; a fill-in is somewhere in its slot."""
        laid = [each for row in self._rows(exercise, None) for each, _ in self._windows(row)]
        starts = [each.start for each in laid]
        found = []
        for row in self.logs(exercise, days):
            number = bisect_right(starts, made_at(row)) - 1
            found.append(_go(row, laid[number] if number >= 0 else None, self.timely))
        return found

    def logs(self, exercise: str | None = None, days: Days | None = None) -> list[BoutRow]:
        """The bouts of one exercise, or of all but rehearsals, by the day they were made for."""
        mine = [row for row in self.bouts if self._wanted(row.exercise, exercise)]
        if days is None:
            return mine
        since, until = (day_start(self.settings, day) for day in (days[0], days[1] + ONE))
        return [row for row in mine if since <= made_at(row) < until]

    def _wanted(self, key: str, exercise: str | None) -> bool:
        return key not in self.rehearsals if exercise is None else key == exercise

    def _windows(self, row: DaySummaryRow) -> Iterator[tuple[Window, bool]]:
        """Each slot of a summary, and whether it was past when the day was summed up."""
        for told in row.standings:
            slot = standing(told)
            window = Window(slot.start, slot.end, slot.stands)
            yield window, row.as_of > slot.end + self.timely

    def _seen(self, row: DaySummaryRow) -> Iterator[SlotSeen]:
        figures = row.figures
        grows = figures["missing"] > figures["unknown_dose"]  # some known slot has no contact since
        for window, past in self._windows(row):
            wall = local(window.start, self.zone(window.start))
            hour = wall.hour + (24 if wall.date() > row.date else 0)
            yield SlotSeen(row.date, hour, window.standing, past, grows)


def material(db: Session, course: Course, now: datetime) -> Material:
    """Read everything the measures of a course are made of."""
    settings = settings_of(db, course, now)
    spells = spells_of(db, course, settings, now)
    opening, today = settings[0].at, course_day(settings, now)
    days = (course_day(settings, opening), today)
    checks = check_days(db, course, settings, spells, days, now)
    rehearsing = any(phase and phase.rehearsal for _, phase in spells)
    return Material(
        course, now, settings, spells,
        rows=summaries(db, course.id),
        bouts=bout_rows(db, course.id, opening - ONE, now + ONE, now),
        checks=[day for day in checks if day.day < today or day.check or day.reports],
        reminders=reminder_states(db, course.id, opening, now, now) if rehearsing else {},
        timely=rules_of(db, course.clinic_id, now).timely,
    )  # fmt: skip


def made_at(row: BoutRow) -> datetime:
    """When a bout was made, or the start of the slot it fills in."""
    return row.slot_start or row.done_at or row.entered_at


def _go(row: BoutRow, slot: Window | None, timely: timedelta) -> Go:
    """A go, timely if entered by (45 min) after its slot's end, or, in no slot, after it was
    done."""
    at = made_at(row)
    inside = slot is not None and slot.start <= at < slot.end
    closes = slot.end if slot is not None and inside else at
    end = closes if row.slot_start is not None else at
    return Go(at, end, row.entered_at <= closes + timely)
