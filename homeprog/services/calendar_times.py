"""The times at which a patient's calendar rings: those of the reminders, week after week."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy.orm import Session

from ..delivery.calendar_file import Calendar, Ring, calendar_file
from ..domain.clock import local, zone_of
from ..domain.timetable import Setting
from ..domain.timetable.quiet import mutes, soundless
from ..storage import clinics, courses, quiet
from ..storage.languages import language_of
from ..storage.models import Device
from ..storage.timelines import settings_of, zone_at
from .plan_prompts import Plan, reminders
from .words_of import words_of

DAYS = 14  # as far ahead as the phone's own plan: a file that rang on for months would mislead
DAY = timedelta(days=1)
NAMES = uuid.UUID("6f1d6c1e-52f5-4f0e-9d0a-3f6f4a1f7f10")  # ours, made up; it hides patients' ids

Due = tuple[datetime, bool]  # when, and whether it sounds


@dataclass(frozen=True, slots=True)
class CalendarTold:
    """A file with what the phone keeps of it."""

    text: str
    last: date
    mark: str  # changes with the times: the file is to be imported again


def tell_calendar(db: Session, device: Device, now: datetime) -> CalendarTold | None:
    """A file for this phone's patient; None while nothing is planned."""
    zone = zone_at(db, device.patient_id, now)
    rings = _rings(db, device, zone, now)
    if not rings:
        return None
    title = words_of(db, device.clinic_id, language_of(db, device, now), now).say("calendar.event")
    name = uuid.uuid5(NAMES, device.patient_id.hex).hex[:16]
    first = local(now, zone).date() + DAY
    made = Calendar(name, title, zone, first, first + DAY * (DAYS - 1), rings)
    return CalendarTold(calendar_file(made, now), made.last, _mark(zone, rings))


def calendar_mark(db: Session, device: Device, now: datetime) -> str | None:
    """The mark that a file made now would bear."""
    zone = zone_at(db, device.patient_id, now)
    rings = _rings(db, device, zone, now)
    return _mark(zone, rings) if rings else None


def _mark(zone: str, rings: Iterable[Ring]) -> str:
    return hashlib.sha256(repr((zone, tuple(rings))).encode()).hexdigest()[:12]


def _rings(db: Session, device: Device, zone: str, now: datetime) -> tuple[Ring, ...]:
    """One ring for each time of day, with the weekdays it is of; in order."""
    found: dict[tuple[time, bool], set[int]] = {}
    for due, sounds in _week(db, device, zone, now):
        wall = local(due, zone)
        found.setdefault((wall.time().replace(second=0), sounds), set()).add(wall.weekday())
    return tuple(
        Ring(at, tuple(sorted(days)), sounds) for (at, sounds), days in sorted(found.items())
    )


def _week(db: Session, device: Device, zone: str, now: datetime) -> Iterator[Due]:
    """What rings on one whole day of each weekday: the first ahead on which no clock changes."""
    plan = reminders(db, device.patient_id, now, now + DAY * 2 * DAYS, now)
    wishes = quiet.wishes(db, device.patient_id, now, now)
    sounds = _Sounds(db, device, now)
    today, seen = local(now, zone).date(), set[int]()
    for day, dues in sorted(_by_day(plan).items()):
        if day <= today or day.weekday() in seen or _clock_changes(day, zone):
            continue
        seen.add(day.weekday())
        for due in dues:
            if not mutes(wishes, due, dues, zone):
                yield due, sounds.at(plan[due][0][0], due)


def _by_day(plan: Plan) -> Mapping[date, list[datetime]]:
    days: dict[date, list[datetime]] = {}
    for due in sorted(plan):
        days.setdefault(plan[due][0][1].date, []).append(due)
    return days


def _clock_changes(day: date, zone: str) -> bool:
    noons = (datetime.combine(d, time(12), zone_of(zone)) for d in (day - DAY, day, day + DAY))
    return len({noon.utcoffset() for noon in noons}) > 1


class _Sounds:
    """Whether a ring makes a sound: not too near to waking or sleep. Reads each course once."""

    def __init__(self, db: Session, device: Device, now: datetime) -> None:
        self._db, self._clinic, self._now = db, device.clinic_id, now
        minutes = clinics.setting(db, device.clinic_id, "reminders.soundless_minutes", now)
        self._edge = timedelta(minutes=minutes)
        self._settings: dict[str, tuple[Setting, ...]] = {}

    def at(self, course: str, due: datetime) -> bool:
        if course not in self._settings:
            row = courses.by_id(self._db, self._clinic, course)
            self._settings[course] = settings_of(self._db, row, self._now)
        return not soundless(self._settings[course], due, self._edge)
