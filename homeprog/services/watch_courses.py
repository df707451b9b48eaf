"""Watch courses: open alerts for what was not heard, not logged or not released."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple

from sqlalchemy.orm import Session

from ..domain.adherence import DaySummary, figures, from_row, percents
from ..domain.alert import Kind
from ..domain.clock import local
from ..domain.monitor import PROVISIONAL, few_logged, no_contact, phase_overdue
from ..domain.timetable import Setting, course_day
from ..domain.timetable.span import day_start
from ..storage import clinics, watched
from ..storage.courses import facts_in_force
from ..storage.models import Course
from ..storage.summaries import summaries
from ..storage.timelines import phase_in_force, regime_in_force, settings_of
from ..storage.visits import next_visit
from .open_alert import open_alert
from .pass_alert import condition_ended

ONE = timedelta(days=1)
WATCHED: tuple[Kind, ...] = ("no_contact", "few_logged", "phase_not_released")
LEVEL = "today"  # of each of these

Grounds = Mapping[str, Any] | None  # the figures of a condition that holds


class Watch(NamedTuple):
    """One course at one `now`."""

    db: Session
    course: Course
    settings: tuple[Setting, ...]
    today: date
    now: datetime


def watch_course(db: Session, course: Course, now: datetime, new_day: bool = True) -> None:
    """Open, keep or pass the watched alerts of one open course.

    `new_day` False looks only at what can change in mid-day: what stands on record, and whether
    few were logged in the last days, as a late upload may tell.
    """
    kinds = set(WATCHED) if new_day else _in_mid_day(db, course, now)
    if not kinds:
        return
    settings = settings_of(db, course, now)
    watch = Watch(db, course, settings, course_day(settings, now), now)
    for kind in WATCHED:
        if kind in kinds:
            _tell(watch, kind)


def watch_closed(db: Session, now: datetime) -> int:
    """Let the watched alerts of closed courses pass; of how many courses."""
    courses = watched.closed_with_alerts(db, WATCHED)
    for course in courses:
        for kind in WATCHED:
            condition_ended(db, course, kind, now)
    return len(courses)


def _in_mid_day(db: Session, course: Course, now: datetime) -> set[str]:
    kinds = watched.kinds_on_record(db, course.id, WATCHED)
    return kinds | {"few_logged"} if _some_low(db, course, now) else kinds


def _some_low(db: Session, course: Course, now: datetime) -> bool:
    """Whether any exercise is low, before it is known which one leads."""
    rows = summaries(db, course.id, now.date() - (PROVISIONAL.days + 1) * ONE)
    if not rows:
        return False
    days: dict[str, list[tuple[date, DaySummary]]] = {}
    for row in rows:
        days.setdefault(row.exercise, []).append((row.date, from_row(row.figures)))
    newest = rows[-1].date
    return any(few_logged(each, newest, None) is not None for each in days.values())


def _tell(watch: Watch, kind: Kind) -> None:
    grounds = GROUNDS[kind](watch)
    if grounds is None:
        condition_ended(watch.db, watch.course, kind, watch.now)
    else:
        open_alert(watch.db, watch.course, kind, LEVEL, grounds, watch.now)


def _no_contact(watch: Watch) -> Grounds:
    """No word from any phone between one waking and the next; a course without a phone has none."""
    paired = watched.paired_since(watch.db, watch.course.patient_id, watch.now)
    if paired is None:
        return None
    before = day_start(watch.settings, watch.today - ONE)
    last = watched.last_word(watch.db, watch.course.patient_id, watch.now)
    if not no_contact(last, paired, before):
        return None
    return {"last_word": last.isoformat() if last else None, "since": before.isoformat()}


def _few_logged(watch: Watch) -> Grounds:
    phase = phase_in_force(watch.db, watch.course, watch.now)
    if phase is None or phase.leading is None:
        return None
    first = watch.today - PROVISIONAL.days * ONE
    rows = summaries(watch.db, watch.course.id, first, watch.today - ONE, phase.leading)
    days = [(row.date, from_row(row.figures)) for row in rows]
    window = few_logged(days, watch.today, _phase_began(watch, phase.key))
    if window is None:
        return None
    span = {"first": days[0][0].isoformat(), "last": days[-1][0].isoformat()}
    return _told(window, phase.leading) | span


def _phase_began(watch: Watch, phase: str) -> date | None:
    """The course day on which the phase in force began."""
    began: date | None = None
    for setting in reversed(watch.settings):
        if setting.at > watch.now:
            continue
        if setting.phase != phase:
            break
        began = course_day(watch.settings, setting.at)
    return began


def _told(window: DaySummary, exercise: str) -> dict[str, Any]:
    bounds = percents(figures(window).dose)
    assert bounds is not None
    lowest, shown, highest = bounds
    return {
        "exercise": exercise, "days": window.days, "reached": window.reached,
        "known": window.known, "slots": window.slots, "not_asked": window.excused,
        "lowest": lowest, "shown": shown, "highest": highest,
    }  # fmt: skip


def _phase_not_released(watch: Watch) -> Grounds:
    """The phase after the one in force, once overdue."""
    held, phase = (
        regime_in_force(watch.db, watch.course, watch.now),
        phase_in_force(watch.db, watch.course, watch.now),
    )
    if held is None or phase is None:
        return None
    keys = [each.key for each in held[1].phases]
    following = held[1].phases[keys.index(phase.key) + 1 :][:1]
    if not following or following[0].earliest_day is None:
        return None
    operation = facts_in_force(watch.db, watch.course, watch.now)["operation_date"]
    earliest = operation + following[0].earliest_day * ONE
    visit = _visit_for(watch, following[0].key)
    if not phase_overdue(earliest, _told_on(watch, earliest), visit, _clinic_today(watch)):
        return None
    return {
        "phase": following[0].key,
        "name": following[0].name,
        "earliest": earliest.isoformat(),
        "visit": visit.isoformat() if visit else None,
    }


def _visit_for(watch: Watch, phase: str) -> date | None:
    visit = next_visit(watch.db, watch.course, watch.now)
    return visit.planned if visit is not None and visit.for_phase == phase else None


def _told_on(watch: Watch, earliest: date) -> date:
    clinic = watch.course.clinic_id
    days = int(clinics.setting(watch.db, clinic, "phase_overdue_clinic_days", watch.now))
    return clinics.clinic_day_after(watch.db, clinic, earliest, days, watch.now)


def _clinic_today(watch: Watch) -> date:
    return local(watch.now, clinics.clinic_of(watch.db, watch.course.clinic_id).zone).date()


GROUNDS: Mapping[Kind, Callable[[Watch], Grounds]] = {
    "no_contact": _no_contact,
    "few_logged": _few_logged,
    "phase_not_released": _phase_not_released,
}
