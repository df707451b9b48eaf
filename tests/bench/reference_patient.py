"""How often each kind of alert that is a guess is false: seeded courses of the reference patient.

Nothing changes in this patient: every alert of such a kind is false. Docs/METHODS.md, 'The budget'.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from homeprog.domain.adherence import DaySummary
from homeprog.domain.monitor import Threshold, first_reached, sum_by_day
from homeprog.domain.monitor.excess import LoggedDay, days_over
from homeprog.domain.monitor.later import entered_later
from homeprog.domain.monitor.second_pain import second_pain
from homeprog.domain.pain import average_pain_high, daily_pain, rise

SEED = 20260305
COURSES = 600
DAYS = 42  # of a course, from the release of its first phase with a leading exercise
OPERATION = date(2026, 3, 2)
RELEASED = date(2026, 3, 5)
ONE = timedelta(days=1)
DOSE = 10

STEADY, RHO = 0.85, 0.3
LATER = 0.1  # of what is logged
TWICE = 0.02  # of what is logged is logged a second time
PAIN = 3.0  # flat, 0 to 10
PAIN_OF_ENTRIES = 1.0  # standard deviation of one entry about the day's pain
WANDERING = 0.5  # and of the day's about 3, where pain is not flat


@dataclass(frozen=True, slots=True)
class Lived:
    """One day of the reference patient."""

    date: date
    outcomes: tuple[bool, ...]  # of its slots, all known
    summary: DaySummary
    average: int  # 'your average pain since yesterday'

    @property
    def asked(self) -> LoggedDay:
        told = self.summary
        return LoggedDay(self.date, told.known_dose, told.told, told.excess)


def lived(draw: random.Random, day: date, slots: int, pain_of_days: float) -> Lived:
    """A day: its own share of slots logged, its own pain, each entry about it."""
    share = draw.betavariate(STEADY * (1 / RHO - 1), (1 - STEADY) * (1 / RHO - 1))
    outcomes = tuple(draw.random() < share for _ in range(slots))
    done = sum(outcomes)
    later = sum(draw.random() < LATER for _ in range(done))
    twice = sum(draw.random() < TWICE for _ in range(done))
    pain = draw.gauss(PAIN, pain_of_days)
    entries = Counter(said(draw.gauss(pain, PAIN_OF_ENTRIES)) for _ in range(done))
    summary = DaySummary(
        logged=done - later, later=later, not_logged=slots - done, known_dose=DOSE * slots,
        timely=DOSE * (done - later), told=DOSE * done, excess=DOSE * twice, days=1, days_known=1,
        pain_asked=done, pain=tuple(entries[n] for n in range(11)),
    )  # fmt: skip
    return Lived(day, outcomes, summary, said(pain))


def said(pain: float) -> int:
    """A pain as it is entered: a whole number from 0 to 10."""
    return min(max(round(pain), 0), 10)


Rule = Callable[[Sequence[Lived], date], object]  # the days before today and today -> grounds


def _pain_rise(days: Sequence[Lived], today: date) -> object:
    daily = {day.date: pain for day in days if (pain := daily_pain(day.summary)) is not None}
    return rise(daily, RELEASED, today)


def _average_pain(days: Sequence[Lived], today: date) -> object:
    return average_pain_high({day.date: day.average for day in days}, OPERATION, today)


def _second_pain(days: Sequence[Lived], today: date) -> object:
    return second_pain(((day.date, day.summary) for day in days[-4:]), OPERATION, today)


def _excess(days: Sequence[Lived], today: date) -> object:
    return days_over((day.asked for day in days[-7:]), today)


def _entered_later(days: Sequence[Lived], today: date) -> object:
    return entered_later(((day.date, day.summary) for day in days[-7:]), today)


OTHERS: Mapping[str, Rule] = {
    "pain_rise": _pain_rise,
    "average_pain": _average_pain,
    "second_pain": _second_pain,
    "excess": _excess,
    "entered_later": _entered_later,
}


def onsets(days: Sequence[Lived], rule: Rule) -> int:
    """How often the rule's grounds begin to hold, looked at each waking."""
    looks = [bool(rule(days[:n], days[0].date + n * ONE)) for n in range(1, len(days) + 1)]
    return sum(now and not before for before, now in zip([False, *looks], looks, strict=False))


def few_logged_alarms(days: Sequence[Lived], limit: Threshold) -> int:
    """Alarms of the running sum from its first start; each is settled by the next waking."""
    outcomes = [day.outcomes for day in days]
    alarms, start = 0, limit.first_start
    while (rang := first_reached(sum_by_day(outcomes, limit.levels, start), limit.h)) is not None:
        alarms, start, outcomes = alarms + 1, 0.0, outcomes[rang + 1 :]
    return alarms


def silences(days: Iterable[Lived], r: int) -> int:
    """Rows of r slots without a log; 'All well?' is never answered."""
    alarms = row = 0
    for logged in (logged for day in days for logged in day.outcomes):
        row = 0 if logged else row + 1
        alarms += row == r
    return alarms


@dataclass(frozen=True, slots=True)
class Alarms:
    """False alarms of many courses, one after the other."""

    patient_days: int
    few_logged: int
    silence: int
    others: Mapping[str, int]

    @property
    def other(self) -> int:
        return sum(self.others.values())

    @property
    def together(self) -> int:
        return self.few_logged + self.silence + self.other


def simulated(
    limit: Threshold, r: int, courses: int = COURSES, pain_of_days: float = 0.0
) -> Alarms:
    """Courses of the reference patient with the limit's slots a day."""
    draw = random.Random(SEED + limit.slots_a_day)
    few = silent = 0
    others: Counter[str] = Counter(dict.fromkeys(OTHERS, 0))
    for _ in range(courses):
        dates = (RELEASED + n * ONE for n in range(DAYS))
        days = [lived(draw, day, limit.slots_a_day, pain_of_days) for day in dates]
        few += few_logged_alarms(days, limit)
        silent += silences(days, r)
        others.update({kind: onsets(days, rule) for kind, rule in OTHERS.items()})
    return Alarms(courses * DAYS, few, silent, others)
