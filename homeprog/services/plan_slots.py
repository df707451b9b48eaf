"""Slots on the phone: 48 h back to 14 days ahead, with their standing as it is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from ..domain.adherence import not_asked
from ..domain.clock import ceil_minute
from ..domain.course import day_number
from ..domain.credit import DEFAULT_RULES, Rules
from ..domain.hold import Hold
from ..domain.timetable import Setting, Slot, asking_pain, course_day, cut_slots, lay_out
from ..domain.timetable.span import day_span
from ..storage.models import Course
from ..storage.summaries import summaries
from .mute_slots import Muted

BACK = timedelta(hours=48)
AHEAD = timedelta(days=14)
ONE = timedelta(days=1)
Json = dict[str, Any]


def iso(instant: datetime) -> str:
    """An instant for the phone: ISO 8601 in UTC."""
    return instant.astimezone(UTC).isoformat().replace("+00:00", "Z")


@dataclass(frozen=True, slots=True)
class Timeline:
    """What the slots of one course on the phone are made of."""

    course: Course
    settings: Sequence[Setting]
    holds: Sequence[Hold]
    operation: date
    now: datetime
    rules: Rules = DEFAULT_RULES
    muted: Muted = frozenset()
    leading: str | None = None
    pain_each_bout: bool = True

    @property
    def today(self) -> date:
        return course_day(self.settings, ceil_minute(self.now))

    def number(self, day: date) -> int:
        return day_number(day, self.operation)


def plan_slots(db: Session, timeline: Timeline) -> list[Json]:
    """The slots the phone holds; of the past, what the day summaries last told."""
    now = timeline.now
    slots = lay_out(timeline.settings, now + AHEAD, since=now - BACK)
    told = _told(db, timeline.course, now)
    excused = not_asked(slots, timeline.holds, cut_slots(timeline.settings, slots))
    asks = _asking(timeline)
    return [
        _slot(timeline, slot, told, slot.key in excused)
        | {"asks_pain": asks is None or slot.key in asks}
        for slot in slots
    ]


def _asking(timeline: Timeline) -> frozenset[tuple[str, datetime]] | None:
    """The slots that ask for pain, chosen over whole days; None: every one."""
    if timeline.pain_each_bout:
        return None
    since, until = timeline.now - BACK - 2 * ONE, timeline.now + AHEAD + 2 * ONE
    return asking_pain(lay_out(timeline.settings, until, since=since), timeline.leading)


def _told(db: Session, course: Course, now: datetime) -> Mapping[tuple[str, str], tuple[str, int]]:
    """(exercise, start) -> (standing, credited) as the summaries of the last days have them."""
    since = (now - BACK - 2 * ONE).date()
    return {
        (row.exercise, start): (standing, credited)
        for row in summaries(db, course.id, first=since)
        for start, _, standing, credited, _ in row.standings
    }


def _slot(
    timeline: Timeline, slot: Slot, told: Mapping[tuple[str, str], tuple[str, int]], excused: bool
) -> Json:
    key = (slot.exercise, slot.start.isoformat())
    standing, credited = told.get(key) or (_unjudged(timeline, slot), 0)
    if excused and standing == "ahead":
        standing = "excused"
    return {
        "exercise": slot.exercise,
        "start": iso(slot.start),
        "end": iso(slot.end),
        "day": slot.date.isoformat(),
        "number": timeline.number(slot.date),
        "amount": slot.dose.amount,
        "unit": slot.dose.unit,
        "standing": standing,
        "credited": credited,
        "muted": (str(timeline.course.id), *slot.key) in timeline.muted,
    }


def _unjudged(timeline: Timeline, slot: Slot) -> str:
    """The standing of a slot no summary speaks of yet."""
    return "unknown" if timeline.rules.past(slot, timeline.now) else "ahead"


def plan_days(timeline: Timeline) -> list[Json]:
    """The course days the slots lie in, with their numbers."""
    first = course_day(timeline.settings, timeline.now - BACK)
    count = (timeline.today + AHEAD - first).days + 1
    days = (first + ONE * each for each in range(count))
    return [{"date": day.isoformat(), "number": timeline.number(day)} for day in days]


def check_span(timeline: Timeline, day: date) -> tuple[str, str]:
    """When the check of a course day may be answered: from its waking to the next."""
    start, end = day_span(timeline.settings, day)
    return iso(start), iso(end)
