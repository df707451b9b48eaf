"""Watch courses: open alerts for what was not heard, not logged, not done or not released."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from ..domain.alert import KINDS, UNDER_NO_CONTACT, Kind, is_trouble, quiet
from ..storage import clinics, watched
from ..storage.alert_settings import level_of
from ..storage.models import Course
from .open_alert import open_alert
from .pass_alert import condition_ended, hush
from .watch import care, few, hand, logged, phones, silence
from .watch.seen import Found, Watch

Unjudged = tuple[tuple[Kind, ...], Exception]  # kinds whose rule failed, and how
WATCHED: tuple[Kind, ...] = tuple(kind for kind in KINDS if not is_trouble(kind))

# Each rule with the kinds it tells of. 'No contact' first: it holds others under it.
RULES: tuple[tuple[tuple[Kind, ...], Callable[[Watch], Found]], ...] = (
    (("no_contact",), phones.out_of_contact),
    (("few_logged", "reminders_not_arriving"), few.few_logged),
    (("silence",), silence.silent),
    (("not_started",), logged.nothing_yet),
    (("excess",), logged.too_much),
    (("entered_later",), logged.mostly_later),
    (("pain_rise",), hand.pain_rise),
    (("average_pain", "second_pain"), hand.high_pains),
    (("splint_off", "second_day"), hand.daily_check),
    (("phase_not_released",), care.phase_not_released),
    (("release_lapsed",), care.lapsed),
    (("visit_missed",), care.missed_visit),
    (("plan_not_received",), phones.change_not_received),
    (("not_yet",), care.not_yet),
)
# What a log, a check or a word may bring at any time; all else comes with a waking.
IN_MID_DAY: frozenset[Kind] = frozenset({
    "few_logged", "reminders_not_arriving", "silence", "excess", "average_pain", "second_pain",
    "splint_off", "second_day",
})  # fmt: skip
AS_SLOTS_PASS: frozenset[Kind] = frozenset({"few_logged", "reminders_not_arriving", "silence"})
IN_CLINIC_HOURS: frozenset[Kind] = frozenset({"silence"})  # told then only


def watch_course(
    db: Session, course: Course, now: datetime, new_day: bool = True
) -> list[Unjudged]:
    """Open, keep or pass the watched alerts of one open course; what could not be judged.

    `new_day` False looks only at what can change in mid-day, and at what stands on record.
    """
    return _watch(db, course, now, WATCHED if new_day else IN_MID_DAY, and_on_record=True)


def watch_slots(db: Session, course: Course, now: datetime) -> list[Unjudged]:
    """The same after a slot has passed and nothing else has happened."""
    return _watch(db, course, now, AS_SLOTS_PASS)


def watch_silence(db: Session, course: Course, now: datetime) -> list[Unjudged]:
    """The same for silence alone: its clinic has just opened."""
    return _watch(db, course, now, ("silence",))


def watch_plan(db: Session, course: Course, now: datetime) -> list[Unjudged]:
    """The same for changes under way to phones."""
    return _watch(db, course, now, ("no_contact", "plan_not_received"))


def watch_closed(db: Session, now: datetime) -> int:
    """Let the watched alerts of closed courses pass; of how many courses."""
    courses = watched.closed_with_alerts(db, WATCHED)
    for course in courses:
        for kind in WATCHED:
            condition_ended(db, course, kind, now)
    return len(courses)


def _watch(
    db: Session,
    course: Course,
    now: datetime,
    kinds: Collection[str],
    and_on_record: bool = False,
) -> list[Unjudged]:
    """Ask each rule that tells of one of these kinds, in order; one that fails stops no other."""
    unjudged: list[Unjudged] = []
    unsettled, settled = watched.kinds_on_record(db, course.id, WATCHED)
    on_record = unsettled | settled
    watch = Watch(db, course, now, frozenset(unsettled))
    wanted = {*kinds, *(on_record if and_on_record else ())}
    held = _held(unsettled, settled)
    for told, rule in RULES:
        if wanted.isdisjoint(told):
            continue
        asked = [kind for kind in told if kind not in held and not quiet(kind, watch.circumstances)]
        try:
            found: Found = rule(watch) if asked else {}
        except SQLAlchemyError:  # the transaction is over: nothing more can be asked in it
            raise
        except Exception as error:  # whatever stood on record of these kinds stands
            unjudged.append((told, error))
            continue
        for kind in told:
            _tell(watch, kind, found.get(kind), kind in asked, kind in on_record)
        if "no_contact" in told:
            on = watched.kinds_on_record(db, course.id, told) if found else ((), ())
            held = _held(*on)
    return unjudged


def _held(unsettled: Collection[str], settled: Collection[str]) -> frozenset[Kind]:
    """Kinds that 'no contact' holds under it: all while it stands before staff.

    Once it was settled a change that must arrive is told by itself: staff have not heard of it.
    """
    if "no_contact" in unsettled:
        return UNDER_NO_CONTACT
    return UNDER_NO_CONTACT - {"plan_not_received"} if "no_contact" in settled else frozenset()


def _tell(
    watch: Watch, kind: Kind, figures: Mapping[str, Any] | None, asked: bool, on_record: bool
) -> None:
    db, course, now = watch.db, watch.course, watch.now
    if not asked:
        if on_record:
            hush(db, course, kind, now)
    elif figures is None:
        if on_record:
            condition_ended(db, course, kind, now)
    elif not figures:
        return  # told already, and it stands
    elif (level := level_of(db, course.clinic_id, kind, now)) is None:
        hush(db, course, kind, now)
    elif kind not in IN_CLINIC_HOURS or _may_tell(watch, kind):
        open_alert(db, course, kind, level, figures, now)


def _may_tell(watch: Watch, kind: Kind) -> bool:
    """Whether it is told already, or the clinic is open."""
    if kind in watch.unsettled:
        return True
    opens = clinics.next_opening(watch.db, watch.course.clinic_id, watch.now)
    return opens is None or opens <= watch.now
