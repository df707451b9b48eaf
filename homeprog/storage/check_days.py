"""The daily check by course days, and the phases in force that say what it asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise

from sqlalchemy.orm import Session

from ..domain.check import Check, CheckDay, Report, merged, questions, splint_wear
from ..domain.clock import ceil_minute
from ..domain.regime import Phase
from ..domain.timetable import Setting, course_day
from ..domain.timetable.span import day_start
from ..domain.wear import Wear
from .grounds import checks_since, reports_since
from .histories import revised
from .models import Course
from .patients import devices

ONE = timedelta(days=1)
MOMENT = timedelta(microseconds=1)

Spell = tuple[datetime, Phase | None]  # from when, which phase


def spells_of(
    db: Session, course: Course, settings: Sequence[Setting], now: datetime
) -> list[Spell]:
    """Which phase, as the revision then in force had it, was in force from when; ascending."""
    regimes = {row.number: row.regime for _, row in revised(db, course, now)}
    found: list[Spell] = []
    for each in settings:
        regime = regimes.get(each.revision)
        found.append((each.at, regime.phase(each.phase) if regime and each.phase else None))
    return found


def phase_at(spells: Iterable[Spell], instant: datetime) -> Phase | None:
    """The phase in force at an instant."""
    return ([None, *(phase for at, phase in spells if at <= instant)])[-1]


def began(spells: Sequence[Spell], instant: datetime) -> datetime | None:
    """When the phase in force at an instant began, whatever revisions have changed in it."""
    phase, since = phase_at(spells, instant), None
    for at, each in reversed([spell for spell in spells if spell[0] <= instant]):
        if phase is None or each is None or each.key != phase.key:
            break
        since = at
    return since


def check_days(
    db: Session,
    course: Course,
    settings: Sequence[Setting],
    spells: Sequence[Spell],
    days: tuple[date, date],
    now: datetime,
) -> list[CheckDay]:
    """The daily check of each course day of [first, last] that asked or was told anything.

    An unanswered day asks what the phase in force at its end asks, if a phone was paired in it.
    """
    first, last = days
    edges = [day_start(settings, first + n * ONE) for n in range((last - first).days + 2)]
    answered = _answered(db, course, first, now)
    reported = _reported(db, course, settings, edges[0], now)
    phones = [(row.at, row.ended_at) for row in devices(db, course.patient_id)]
    found = []
    for number, (start, end) in enumerate(pairwise(edges)):
        day = first + number * ONE
        check, reports = merged(answered.get(day, [])), tuple(reported.get(day, ()))
        paired = any(at < end and (gone is None or gone > start) for at, gone in phones)
        phase = phase_at(spells, min(end - MOMENT, ceil_minute(now))) if paired else None
        asked = check.answers if check else questions(phase) if phase else ()
        one = CheckDay(day, tuple(asked), check, reports)
        if one.asked or one.reports:
            found.append(one)
    return found


def _answered(db: Session, course: Course, first: date, now: datetime) -> dict[date, list[Check]]:
    found: dict[date, list[Check]] = {}
    for check in checks_since(db, course.id, first, now):
        found.setdefault(check.day, []).append(check)
    return found


def _reported(
    db: Session, course: Course, settings: Sequence[Setting], since: datetime, now: datetime
) -> dict[date, list[Report]]:
    found: dict[date, list[Report]] = {}
    for at, report in reports_since(db, course.id, since, now):
        found.setdefault(course_day(settings, at), []).append(report)
    return found


def splint_wears(
    db: Session,
    course: Course,
    settings: Sequence[Setting],
    spans: Mapping[str, tuple[date, date]],
    now: datetime,
) -> dict[str, Wear]:
    """Splint wear over each span of course days, both ends included; read once for all.

    The day in progress counts only once something was said of it.
    """
    days = (min(first for first, _ in spans.values()), max(last for _, last in spans.values()))
    spells = spells_of(db, course, settings, now)
    today = course_day(settings, now)
    checks = check_days(db, course, settings, spells, days, now)
    told = [day for day in checks if day.day < today or day.check or day.reports]
    return {
        name: splint_wear(day for day in told if first <= day.day <= last)
        for name, (first, last) in spans.items()
    }
