"""Grounds of few logged, and of reminders not arriving, which takes its place."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from ...domain.adherence import figures, percents, total
from ...domain.alert import Kind
from ...domain.monitor import (
    Levels,
    SumDay,
    Threshold,
    accepted,
    first_reached,
    sum_by_day,
    threshold,
)
from ...domain.monitor.ever_reached import ever_reached
from ...domain.monitor.reminders import Reminded, reminded
from ...domain.monitor.running_sum import KNOWN
from ...domain.timetable import slots_a_day
from ...storage import alerts, grounds
from ...storage.alerts import Settling
from ...storage.reminders import reminder_states
from ...storage.visits import kept_since
from .seen import ONE, Found, Watch

KINDS: tuple[Kind, ...] = ("few_logged", "reminders_not_arriving")  # settling either begins S anew
MISSED = ("part", "not_logged")

Day = tuple[date, tuple[bool, ...]]  # True: logged or later
STANDS = re.compile(r'"([a-z_]+)"')  # the only words in a row of standings


@dataclass(frozen=True, slots=True)
class _Rule:
    """What S is held against, and since when."""

    limit: Threshold
    levels: Levels
    since: datetime  # the last reset
    start: float  # S then
    accepted: bool


def few_logged(watch: Watch) -> Found:
    """Few logged since the last reset, by the running sum; or reminders that did not arrive."""
    rule = _rule(watch)
    if rule is None or watch.leading is None:
        return {}
    days = _days(watch, watch.leading, rule)
    told_of = [told for _, told in days]
    if not ever_reached(told_of, rule.levels, rule.start, rule.limit.h):
        return {}
    if told_already := [kind for kind in KINDS if kind in watch.unsettled]:
        return {kind: {} for kind in told_already}
    return _new(watch, watch.leading, rule, days)


def _new(watch: Watch, exercise: str, rule: _Rule, days: Sequence[Day]) -> Found:
    """The kind to tell, with its figures."""
    sums = sum_by_day((told for _, told in days), rule.levels, rule.start)
    run = days[_run_began(sums, first_reached(sums, rule.limit.h) or 0) :]
    told = _told(watch, exercise, rule, run, sums)
    known_of = _reminded(watch, exercise, run[0][0])
    if known_of.not_arriving:
        more = {"not_shown": known_of.not_shown, "of": known_of.known}
        return {"reminders_not_arriving": told | more | {"left_out": known_of.left_out}}
    return {"few_logged": told}


def _rule(watch: Watch) -> _Rule | None:
    """The rule for this course now; None before its first release or with nothing asked for."""
    started, slots = watch.started(), most_slots(watch)
    released = grounds.last_release(watch.db, watch.course.id, watch.now)
    if started is None or released is None or not slots:
        return None
    settled = alerts.last_settling(watch.db, watch.course.id, KINDS, watch.now)
    since = max(released, settled.at) if settled else released
    level = _accepted(watch, settled) if settled and settled.at >= released else None
    return _held_against(watch, slots, since, level, first=since <= started)


def _accepted(watch: Watch, settled: Settling) -> float | None:
    """The level accepted at settlement, until the next visit."""
    if settled.until is not None and watch.clinic_today >= settled.until:
        return None
    if kept_since(watch.db, watch.course.id, settled.at, watch.now):
        return None
    return settled.accepted_level


def _held_against(
    watch: Watch, slots: int, since: datetime, level: float | None, first: bool
) -> _Rule:
    own = watch.own
    levels = Levels(own["few_logged.p0"], own["few_logged.p1"], own["few_logged.rho"])
    if level is not None:
        levels = accepted(level, levels.rho)
    head_start = bool(own["few_logged.head_start"]) and level is None
    limit = threshold(
        slots, levels.p0, levels.p1, levels.rho, own["few_logged.false_in_days"], head_start
    )
    return _Rule(limit, levels, since, limit.first_start if first else 0.0, level is not None)


def most_slots(watch: Watch) -> int:
    """Slots of the leading exercise on the weekday with most; 0 where it is not asked for."""
    setting = watch.setting_now
    asked = [each for each in setting.asked if each.exercise == watch.leading] if setting else []
    if setting is None or not asked:
        return 0
    return max(slots_a_day(asked[0], waking) for waking in setting.week)


def _days(watch: Watch, exercise: str, rule: _Rule) -> list[Day]:
    """The known slots of each course day since the reset, in the order of their ends.

    Slots of one exercise do not overlap, so rows hold them in that order. Only the day of the
    reset may hold earlier slots, and only the last two days slots that are not past yet.
    """
    first = watch.day_of(rule.since)
    open_days = {first, watch.today, watch.today - ONE}
    texts = grounds.standing_texts(watch.db, watch.course.id, exercise, first)
    return [
        (day, _counted(text, rule, watch) if day in open_days else _known(text))
        for day, text in texts
    ]


def _known(text: str) -> tuple[bool, ...]:
    """The known slots of a whole day: read as text, which is all a long course costs here."""
    return tuple(KNOWN[stands] for stands in STANDS.findall(text) if stands in KNOWN)


def _counted(text: str, rule: _Rule, watch: Watch) -> tuple[bool, ...]:
    """Those past and begun since the reset."""
    slots = [grounds.standing(each) for each in json.loads(text)]
    closed = watch.now - watch.timely
    past = [slot for slot in slots if slot.start >= rule.since and slot.end < closed]
    return tuple(KNOWN[slot.stands] for slot in past if slot.stands in KNOWN)


def _run_began(sums: Sequence[SumDay], signal: int) -> int:
    """The day on which the run up began that reached the limit: S was 0 that morning."""
    return max((n for n in range(signal + 1) if sums[n].began == 0), default=0)


def _told(
    watch: Watch, exercise: str, rule: _Rule, run: Sequence[Day], sums: Sequence[SumDay]
) -> dict[str, Any]:
    first, last = run[0][0], run[-1][0]
    summed = grounds.days_of(watch.db, watch.course.id, [(first, last)])
    window = total(each.figures for each in summed if each.exercise == exercise)
    lowest, shown, highest = percents(figures(window).dose) or (None, None, None)
    highest_sum = max((s for day in sums for s in day.looks), default=rule.start)
    return {
        "exercise": exercise, "first": first.isoformat(), "last": last.isoformat(),
        "reached": window.reached, "known": window.known, "slots": window.slots,
        "not_asked": window.excused, "lowest": lowest, "shown": shown, "highest": highest,
        "since": rule.since.isoformat(), "sum": round(highest_sum, 2), "h": rule.limit.h,
        "slots_a_day": rule.limit.slots_a_day, "p0": rule.levels.p0, "p1": rule.levels.p1,
        "rho": rule.levels.rho, "false_in_days": rule.limit.false_in_days,
        "accepted": rule.accepted, "limit": rule.limit.version,
    }  # fmt: skip


def _reminded(watch: Watch, exercise: str, first: date) -> Reminded:
    """What became of the reminders of the slots since `first` that were not logged."""
    rows = grounds.standings_since(watch.db, watch.course.id, exercise, first)
    slots = (grounds.standing(each) for _, told in rows for each in told)
    missed = [slot.start for slot in slots if slot.stands in MISSED]
    if not missed:
        return Reminded(0, 0, 0)
    until = max(missed) + timedelta(seconds=1)
    states = reminder_states(watch.db, watch.course.id, min(missed), until, watch.now)
    return reminded(states.get((exercise, start), "not_known") for start in missed)
