"""The measures of one course over one window, put together from what the storage read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from itertools import groupby

from ..domain.adherence import Bounds, DaySummary, Figures, figures, total
from ..domain.adherence.chance import DEFAULT_CHANCE, ChanceRule, Verdict, enough_to_say
from ..domain.adherence.gaps import Gap, longest_gap
from ..domain.adherence.logging_ways import Rehearsed, excess_ratio, rehearsed, ways
from ..domain.adherence.pattern import Share, by_hour, by_weekday
from ..domain.adherence.persistence import (
    ENDED_AFTER,
    Initiation,
    Persistence,
    initiation,
    persistence,
)
from ..domain.check import CheckDay, splint_wear
from ..domain.pain import Change, Relation, baseline, change, daily_pains, relation
from ..domain.wear import Wear
from ..storage.measures import Days, Material, made_at
from ..storage.models import BoutRow

ONE = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Rules:
    """The clinic's settings that bear on measures."""

    chance: ChanceRule = DEFAULT_CHANCE
    ended_after: int = ENDED_AFTER  # whole days without a go, all known


@dataclass(frozen=True, slots=True)
class Starting:
    """Initiation, implementation and persistence of one exercise, up to now."""

    released: datetime | None
    initiation: Initiation | None
    implementation: Figures | None  # between the first go and the last, within the window
    persistence: Persistence | None


@dataclass(frozen=True, slots=True)
class PainRead:
    """Pain over the window, and since the release of the phase in force."""

    daily: Mapping[date, Fraction]  # of the window
    entries: Mapping[date, tuple[int, int]]  # answered, asked, of the window
    averages: Mapping[date, int]  # 'average pain since yesterday', of the window
    last: BoutRow | None  # the newest go with an answer
    baseline: Fraction | None
    change: Change | None
    relation: Relation  # with the dose of the day after, over the window

    @property
    def days(self) -> list[date]:
        """Every day of the window that says something of pain, or was asked to."""
        return sorted({*self.entries, *self.averages})


@dataclass(frozen=True, slots=True)
class OfExercise:
    """The measures of one exercise."""

    key: str
    name: str
    figures: Figures
    window: DaySummary
    excess: Bounds
    verdict: Verdict
    gap: Gap | None
    hours: Mapping[int, Share]
    weekdays: Mapping[int, Share]
    starting: Starting
    ways: Mapping[str, int]
    sources: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Measured:
    """Everything the page shows."""

    days: Days
    exercise: OfExercise | None  # None where no exercise leads and none was chosen
    wear: Wear
    pain: PainRead
    rehearsed: Mapping[str, Rehearsed]  # by name
    rules: Rules


def measured(read: Material, days: Days, exercise: str | None, rules: Rules) -> Measured:
    """All measures over course days [first, last]; `exercise` is the leading one, or as chosen."""
    checks = [day for day in read.checks if days[0] <= day.day <= days[1]]
    return Measured(
        days,
        _of_exercise(read, days, exercise, rules) if exercise else None,
        splint_wear(checks),
        _pain(read, days, exercise, checks),
        {name: _rehearsed(read, key, days) for key, name in read.rehearsals.items()},
        rules,
    )


def _of_exercise(read: Material, days: Days, key: str, rules: Rules) -> OfExercise:
    told = read.figures(key, days)
    window = total(each for _, each in told)
    logs = read.logs(key, days)
    slots = read.slots(key, days)
    windows = [each for day in read.windows(key, days) for each in day]
    return OfExercise(
        key,
        read.exercises.get(key, key.replace("_", " ")),
        figures(window),
        window,
        excess_ratio(window),
        enough_to_say([(each.reached, each.known) for _, each in told], rules.chance),
        longest_gap(windows, read.goes(key, days)),
        by_hour(slots),
        by_weekday(slots),
        _starting(read, key, days, rules),
        ways(row.how for row in logs),
        Counter(row.source for row in logs if row.source != "phone"),
    )


def _starting(read: Material, key: str, days: Days, rules: Rules) -> Starting:
    released, goes = read.first_released, read.goes(key)
    whole = [day for day in read.windows(key, (date.min, read.today - ONE)) if day]
    flat = (each for day in read.windows(key) for each in day)
    going = persistence(whole, goes, read.now, rules.ended_after)
    return Starting(
        released,
        initiation(released, flat, goes) if released else None,
        _implementation(read, key, days, going),
        going,
    )


def _implementation(
    read: Material, key: str, days: Days, going: Persistence | None
) -> Figures | None:
    if going is None:
        return None
    first = max(days[0], read.day_of(going.first))
    last = min(days[1], read.day_of(going.last)) if going.ending == "ended" else days[1]
    return figures(total(each for _, each in read.figures(key, (first, last))))


def _pain(read: Material, days: Days, exercise: str | None, checks: Iterable[CheckDay]) -> PainRead:
    told = read.all_figures()
    daily = daily_pains(told, read.today)
    inside = {day: pain for day, pain in daily.items() if days[0] <= day <= days[1]}
    answered = [row for row in read.logs(None, days) if row.pain is not None]
    return PainRead(
        inside,
        _entries(told, days),
        _averages(checks),
        max(answered, key=made_at, default=None),
        baseline(daily, read.released, read.today),
        change(daily, read.released, read.today),
        relation(inside, _shown(read, exercise)),
    )


def _entries(told: Iterable[tuple[date, DaySummary]], days: Days) -> dict[date, tuple[int, int]]:
    """(answered, asked) of each day of the window on which pain was asked."""
    found = {}
    for day, each in groupby(told, key=lambda one: one[0]):
        summed = total(summary for _, summary in each)
        if days[0] <= day <= days[1] and (summed.pain_asked or summed.pain_answers):
            found[day] = (summed.pain_answers, max(summed.pain_asked, summed.pain_answers))
    return found


def _averages(checks: Iterable[CheckDay]) -> dict[date, int]:
    """The average pain answered in the check, by day; skipped is left out."""
    told = {day.day: day.check.average_pain for day in checks if day.check}
    return {day: pain for day, pain in told.items() if pain is not None}


def _shown(read: Material, exercise: str | None) -> dict[date, Fraction]:
    """The shown dose figure of each whole day that has one."""
    told = read.figures(exercise) if exercise else []
    shown = {day: figures(each).dose.shown for day, each in told if day < read.today}
    return {day: share for day, share in shown.items() if share is not None}


def _rehearsed(read: Material, key: str, days: Days) -> Rehearsed:
    past = [each for day in read.windows(key, days) for each in day]
    standings = {(key, each.start): each.standing for each in past}
    return rehearsed(standings, read.reminders)
