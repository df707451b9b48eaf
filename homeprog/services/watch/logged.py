"""Grounds from what was logged: nothing yet, too much, mostly later."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from ...domain.credit import Key, credit
from ...domain.monitor.excess import ExcessRule, LoggedDay, days_over, slots_over
from ...domain.monitor.later import LaterRule, entered_later
from ...domain.monitor.overdue import not_started
from ...domain.timetable import Slot, lay_out
from ...storage import grounds, watched
from ...storage.bouts import bouts_of
from ...storage.grounds import Standing
from ...storage.rules import rules_of
from .seen import ONE, Found, Watch

PER_CENT = 100


def nothing_yet(watch: Watch) -> Found:
    """Nothing logged by the second waking after the first release of an exercise phase.

    Without a phone nothing is known, and staff ring on days of their own: that tells nothing.
    """
    if watched.paired_since(watch.db, watch.course.patient_id, watch.now) is None:
        return {}
    started, phase = watch.started(), watch.phase
    if started is None or phase is None:
        return {}
    second = watch.waking(watch.day_of(started) + 2 * ONE)
    if watch.now < second:
        return {}
    logged = grounds.logged_since(watch.db, watch.course.id, started, watch.now)
    if not not_started(second, logged, watch.now):
        return {}
    first = watch.day_of(started).isoformat()
    figures = {"phase": phase.key, "name": phase.name, "released": started.isoformat()}
    return {"not_started": figures | {"first": first}}


def mostly_later(watch: Watch) -> Found:
    """More than half of the last 7 whole days' shown credit was told later."""
    own = watch.own
    rule = LaterRule(slots=own["later.slots"], share=Fraction(str(own["later.share"])))
    first, last = watch.today - rule.days * ONE, watch.today - ONE
    summed = grounds.days_of(watch.db, watch.course.id, [(first, last)])
    mine = [(each.date, each.figures) for each in summed if each.exercise == watch.leading]
    found = entered_later(mine, watch.today, rule)
    if found is None:
        return {}
    figures = {
        "exercise": watch.leading, "share": round(found.share * PER_CENT), "slots": found.slots,
        "timely": int(own["timely_minutes"]),
        "first": mine[0][0].isoformat(), "last": mine[-1][0].isoformat(),
    }  # fmt: skip
    return {"entered_later": figures}


def too_much(watch: Watch) -> Found:
    """Over 125 % of the day's dose on 2 days of 7, or a slot over twice its dose."""
    own = watch.own
    rule = ExcessRule(
        Fraction(str(own["excess.share"])),
        own["excess.days"],
        slot=Fraction(str(own["excess.slot"])),
    )
    days = _logged_days(watch, watch.today - (rule.of - 1) * ONE)
    over = days_over((day for day, _ in days), watch.today, rule)
    slots = [each for day, told in days for each in _slots_over(watch, day, told, rule)]
    if not over and not slots:
        return {}
    dates = sorted({*(day.date for day in over), *(watch.day_of(slot.start) for slot, _ in slots)})
    figures = {
        "exercise": watch.leading, "over": round(rule.share * PER_CENT), "of": rule.of,
        "days": [[day.date.isoformat(), round((day.share or 0) * PER_CENT)] for day in over],
        "slots": [[slot.start.isoformat(), n, slot.dose.amount] for slot, n in slots],
        "first": dates[0].isoformat(), "last": dates[-1].isoformat(),
    }  # fmt: skip
    return {"excess": figures}


def _logged_days(watch: Watch, first: date) -> list[tuple[LoggedDay, list[Standing]]]:
    """The leading exercise's days, each with its slots that were asked for."""
    exercise = watch.leading or ""
    summed = grounds.days_of(watch.db, watch.course.id, [(first, watch.today)])
    excess = {e.date: e.figures.excess for e in summed if e.exercise == exercise}
    if not any(excess.values()):
        return []
    rows = grounds.standings_since(watch.db, watch.course.id, exercise, first)
    return [_logged_day(day, map(grounds.standing, told), excess.get(day, 0)) for day, told in rows]


def _logged_day(
    day: date, slots: Iterable[Standing], excess: int
) -> tuple[LoggedDay, list[Standing]]:
    asked = [slot for slot in slots if slot.stands != "excused"]
    dose, credited = sum(s.asked for s in asked), sum(s.credited for s in asked)
    return LoggedDay(day, dose, credited, excess), asked


def _slots_over(
    watch: Watch, day: LoggedDay, told: list[Standing], rule: ExcessRule
) -> list[tuple[Slot, int]]:
    """The day's slots over twice their dose; looked for only where the excess allows one."""
    least = min((slot.asked for slot in told), default=0)
    if not told or day.excess <= (rule.slot - 1) * least:
        return []
    since, until = watch.waking(day.date - ONE), watch.waking(day.date + 2 * ONE)
    slots = [s for s in lay_out(watch.settings, until, since) if s.exercise == watch.leading]
    bouts, apart = bouts_of(watch.db, watch.course.id, since, until, watch.now, watch.revision_at)
    excused = frozenset(s.key for s in slots if s.date == day.date) - {
        (s.exercise, s.start) for s in slots if s.start in {each.start for each in told}
    }
    rules = rules_of(watch.db, watch.course.clinic_id, watch.now)
    came_to = credit(slots, bouts, excused, watch.now, rules, apart)
    doses: dict[Key, int] = {
        s.key: s.dose.amount for s in slots if s.date == day.date and s.key not in excused
    }
    found = slots_over(doses, bouts, came_to, rule)
    return [(slot, found[slot.key]) for slot in slots if slot.key in found]
