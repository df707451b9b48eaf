"""The tick sheet of a course as a table: hours down, days across."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby

from ..domain.adherence import DaySummary, figures, from_row, percents, total
from ..domain.clock import local
from ..domain.regime import Phase
from ..domain.timetable import course_day
from ..services.review_course import Review
from ..storage.models import DaySummaryRow
from .words import HOLDS, STANDINGS

ONE = timedelta(days=1)
LETTERS = 4  # of a band's words that fit over one day
SHOWN = 28  # days, unless all are asked for


@dataclass(frozen=True, slots=True)
class Mark:
    """One slot: its sign and how it is spoken."""

    sign: str
    words: str


@dataclass(frozen=True, slots=True)
class Day:
    """One column."""

    date: date
    number: int
    today: bool
    empty: str | None  # why nothing is asked for all day; None where something is
    dose: tuple[int, int, int] | None  # lowest, shown, highest in per cent
    pain: tuple[float, int, int] | None  # median, lowest, highest


@dataclass(frozen=True, slots=True)
class Band:
    """Neighbouring days under one phase or hold; words '' where there is none."""

    words: str
    days: int
    key: int | None = None  # stands for the words where they do not fit over the days


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole table. `hours` is [(label, {date: marks})] for hours in which anything is due."""

    days: Sequence[Day]
    hours: Sequence[tuple[str, Mapping[date, Sequence[Mark]]]]
    phases: Sequence[Band]
    holds: Sequence[Band]
    keys: Mapping[str, int]  # words that do not fit over their days, with their number
    left_out: int  # earlier days not shown


def tick_sheet(review: Review, now: datetime, whole: bool = False, only: str = "") -> Sheet:
    """The sheet of each day's leading exercise, or of the exercise `only`."""
    dates = _dates(review, whole)
    phases = _phase_by_day(review, dates)
    rows = {day: _rows(review, day, phases[day], only) for day in dates}
    holds = {day: _held(review, day, now) for day in dates}
    keys: dict[str, int] = {}
    return Sheet(
        days=[_day(review, day, rows[day], phases[day], holds[day]) for day in dates],
        hours=_hours(review, rows, now),
        phases=bands([_name(phases[day]) for day in dates], keys),
        holds=bands([holds[day] for day in dates], keys),
        keys=keys,
        left_out=review.number(dates[0]) - review.number(review.operation),
    )


def _dates(review: Review, whole: bool) -> list[date]:
    first = review.operation
    if not whole:
        first = max(first, review.today - (SHOWN - 1) * ONE)
    return [first + n * ONE for n in range((review.today - first).days + 1)]


def _phase_by_day(review: Review, dates: Iterable[date]) -> dict[date, Phase | None]:
    """The phase in force as each course day ended."""
    begun = [(course_day(review.settings, s.at), s.phase) for s in review.settings]
    found: dict[date, Phase | None] = {}
    for day in dates:
        keys = [key for start, key in begun if start <= day]
        key = keys[-1] if keys else None
        found[day] = review.regime.phase(key) if review.regime and key else None
    return found


def _rows(review: Review, day: date, phase: Phase | None, only: str) -> list[DaySummaryRow]:
    wanted = only or (phase.leading if phase else None)
    return [row for row in review.days if row.date == day and row.exercise == wanted]


def _name(phase: Phase | None) -> str:
    return phase.name if phase else ""


def _held(review: Review, day: date, now: datetime) -> str:
    """The kind of the hold of the whole course that meets a day, in words."""
    for hold, end in review.holds:
        first = course_day(review.settings, hold.starts)
        last = course_day(review.settings, end.ends if end else now)
        if hold.exercise is None and first <= day <= last:
            return HOLDS[hold.kind]
    return ""


def bands(words: Iterable[str], keys: dict[str, int]) -> list[Band]:
    """Days of the same words as one band; what is too long for its days gets a number in `keys`."""
    found = [Band(said, len(list(days))) for said, days in groupby(words)]
    for band in found:
        if len(band.words) > LETTERS * band.days:
            keys.setdefault(band.words, len(keys) + 1)
    return [Band(band.words, band.days, keys.get(band.words)) for band in found]


def _day(
    review: Review, day: date, rows: Sequence[DaySummaryRow], phase: Phase | None, held: str
) -> Day:
    told = total(from_row(row.figures) for row in rows)
    pain = total(from_row(row.figures) for row in review.days if row.date == day)
    asked = any(row.standings for row in rows)
    empty = None if asked else _why_empty(review, day, phase, held)
    return Day(day, review.number(day), day == review.today, empty, _dose(told), _pain(pain))


def _why_empty(review: Review, day: date, phase: Phase | None, held: str) -> str:
    if held:
        return held
    if day == review.operation:
        return "operation"
    return "no exercise asked for" if phase else "no exercise yet"


def _dose(told: DaySummary) -> tuple[int, int, int] | None:
    return percents(figures(told).dose)


def _pain(told: DaySummary) -> tuple[float, int, int] | None:
    twice, low, high = told.pain_median_doubled, told.pain_lowest, told.pain_highest
    if twice is None or low is None or high is None:
        return None
    return twice / 2, low, high


def _hours(
    review: Review, rows: Mapping[date, Sequence[DaySummaryRow]], now: datetime
) -> list[tuple[str, dict[date, list[Mark]]]]:
    """A line for each local hour in which a slot begins, waking first."""
    found: dict[int, dict[date, list[Mark]]] = {}
    for day, summed in rows.items():
        for start, end, standing, credited, asked in (s for row in summed for s in row.standings):
            opens, closes = datetime.fromisoformat(start), datetime.fromisoformat(end)
            wall = local(opens, review.zone(opens))
            late = 24 if wall.date() > day else 0  # after midnight, still this course day
            mark = _mark(standing, credited, asked, opens <= now < closes)
            ends = local(closes, review.zone(opens))
            spoken = Mark(mark.sign, f"{wall:%H:%M} to {ends:%H:%M}: {mark.words}")
            found.setdefault(wall.hour + late, {}).setdefault(day, []).append(spoken)
    return [(f"{hour % 24:02}:00", found[hour]) for hour in sorted(found)]


def _mark(standing: str, credited: int, asked: int, running: bool) -> Mark:
    words = STANDINGS["open" if standing == "ahead" and running else standing]
    sign = "part" if standing == "ahead" and credited else standing
    if credited:
        words += f", {credited} of {asked}"
    return Mark(sign, words)
