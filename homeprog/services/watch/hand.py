"""Grounds from pain and the daily check."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import groupby

from ...domain.check import (
    Check,
    CheckDay,
    OffRule,
    Report,
    merged,
    second_day_running,
    splint_off,
)
from ...domain.monitor.second_pain import SecondPainRule, second_pain
from ...domain.pain import PainRule, average_pain_high, daily_pains, rise
from ...domain.timetable import course_day
from ...storage import grounds
from .seen import ONE, Found, Watch

CHECKED_DAYS = 7  # course days of the check that are read, today among them: `splint_off.of`
# A 'no', or a report, that is told on its second day running.
SECOND_DAY = ("no_new_swelling", "comfortable", "wound_dry", "tingling")


def pain_rise(watch: Watch) -> Found:
    """The last 2 daily pains against days 2 to 4 of the phase."""
    since, phase = watch.phase_since(), watch.phase
    if since is None or phase is None or watch.regime is None or phase is watch.regime.phase_zero:
        return {}
    rule = PainRule(over=watch.own["pain_rise.over"], floor=watch.own["pain_rise.floor"])
    released = course_day(watch.settings, since)
    spans = [rule.days(released), (watch.today - rule.oldest * ONE, watch.today)]
    summed = grounds.days_of(watch.db, watch.course.id, spans)
    daily = daily_pains(((each.date, each.figures) for each in summed), watch.today)
    found = rise(daily, released, watch.today, rule)
    if found is None:
        return {}
    figures = {
        "baseline": float(found.baseline),
        "now": float(found.now),
        "days": [[day.isoformat(), float(daily[day])] for day in found.days],
        "first": found.days[0].isoformat(),
        "last": found.days[-1].isoformat(),
    }
    return {"pain_rise": figures}


def high_pains(watch: Watch) -> Found:
    """Average pain high on two days running; a second high pain on one day."""
    return {**_average(watch), **_second(watch)}


def _average(watch: Watch) -> Found:
    rule = PainRule(
        average=watch.own["average_pain.at"], average_after=watch.own["average_pain.after_day"]
    )
    told = {day.day: day.check.average_pain for day in _checks(watch) if day.check}
    days = average_pain_high(told, watch.operation, watch.today, rule)
    if not days:
        return {}
    figures = {
        "days": [[day.isoformat(), told[day]] for day in days],
        "at_least": rule.average,
        "first": days[0].isoformat(),
        "last": days[-1].isoformat(),
    }
    return {"average_pain": figures}


def _second(watch: Watch) -> Found:
    own = watch.own
    rule = SecondPainRule(at=own["pain.red_flag_at"], after_day=own["second_pain.after_day"])
    span = (watch.today - (rule.days - 1) * ONE, watch.today)
    summed = grounds.days_of(watch.db, watch.course.id, [span])
    day = second_pain(((e.date, e.figures) for e in summed), watch.operation, watch.today, rule)
    if day is None:
        return {}
    since, until = watch.waking(day), watch.waking(day + ONE)
    entries = grounds.pains_of(watch.db, watch.course.id, since, until, rule.at)
    figures = {
        "entries": [[at.isoformat(), pain] for at, pain in entries],
        "at_least": rule.at,
        "first": day.isoformat(),
        "last": day.isoformat(),
    }
    return {"second_pain": figures}


def daily_check(watch: Watch) -> Found:
    """A splint that was off; swelling or discomfort for the second day running."""
    days = _checks(watch)
    return {**_off(watch, days), **_lines(watch, days)}


def _off(watch: Watch, days: list[CheckDay]) -> Found:
    own = watch.own
    rule = OffRule(own["splint_off.days"], own["splint_off.of"], own["splint_off.hours"])
    found = splint_off(days, watch.today, rule)
    if found is None:
        return {}
    dates = sorted({*found.days, *found.long})
    details = {day.day: _details(day) for day in days}
    figures = {
        "days": [[day.isoformat(), details[day]] for day in dates],
        "of": found.of,
        "long": [day.isoformat() for day in found.long],
        "hours": rule.hours,
        "first": dates[0].isoformat(),
        "last": dates[-1].isoformat(),
    }
    return {"splint_off": figures}


def _details(day: CheckDay) -> dict[str, object]:
    """What was told of the splint that day, by the check or by a report."""
    told = dict(day.check.details) if day.check else {}
    for report in day.reports:
        if report.kind == "splint_off_and_back":
            told |= report.details
    return told


def _lines(watch: Watch, days: list[CheckDay]) -> Found:
    running = {key: second_day_running(days, key, watch.today) for key in SECOND_DAY}
    what = [key for key, pair in running.items() if pair]
    if not what:
        return {}
    pair = running[what[0]]
    figures = {
        "what": what,
        "days": [day.isoformat() for day in pair],
        "first": pair[0].isoformat(),
        "last": pair[-1].isoformat(),
    }
    return {"second_day": figures}


def _checks(watch: Watch) -> list[CheckDay]:
    """The last days of the check, with the reports of each day."""
    first = watch.today - (CHECKED_DAYS - 1) * ONE
    told = grounds.checks_since(watch.db, watch.course.id, first, watch.now)
    by_day = {day: list(each) for day, each in groupby(told, key=lambda check: check.day)}
    reports = _reports(watch, first)
    return [_day(day, by_day.get(day, ()), reports) for day in _dates(first, watch.today)]


def _day(day: date, checks: Iterable[Check], reports: Iterable[tuple[date, Report]]) -> CheckDay:
    check = merged(list(checks))
    theirs = tuple(report for told, report in reports if told == day)
    return CheckDay(day, tuple(check.answers) if check else (), check, theirs)


def _reports(watch: Watch, first: date) -> list[tuple[date, Report]]:
    since = watch.waking(first)
    told = grounds.reports_since(watch.db, watch.course.id, since, watch.now)
    return [(course_day(watch.settings, at), report) for at, report in told]


def _dates(first: date, last: date) -> list[date]:
    return [first + ONE * n for n in range((last - first).days + 1)]
