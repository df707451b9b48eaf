"""Hours of the week: whom to ring, who is on duty, when the clinic is open."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from .clock import local, to_utc

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
DAY = 24 * 60  # minutes
ONE = timedelta(days=1)
LOOK_AHEAD = 60  # days in which an opening is looked for


@dataclass(frozen=True, slots=True)
class WeekHours:
    """Hours of one weekday, local wall clock, half-open; closes 00:00 is the end of the day."""

    weekday: int  # 0 Monday
    opens: time
    closes: time

    @property
    def minutes(self) -> tuple[int, int]:
        """Opening and closing, in minutes of the day."""
        closes = self.closes.hour * 60 + self.closes.minute
        return self.opens.hour * 60 + self.opens.minute, closes or DAY

    @property
    def words(self) -> str:
        """'Monday 17:00 to 24:00'."""
        opens, closes = self.minutes
        return f"{WEEKDAYS[self.weekday]} {_clock(opens)} to {_clock(closes)}"


@dataclass(frozen=True, slots=True)
class NumberHours(WeekHours):
    """A number to ring over some hours of the week."""

    label: str  # 'Ring the hand unit'
    tel: str


@dataclass(frozen=True, slots=True)
class DutyHours(WeekHours):
    """Who is on duty for trouble over some hours of the week."""

    who: str | None  # a staff id; None is 'nobody'


@dataclass(frozen=True, slots=True)
class Ring:
    """Whom to ring over [start, end), and whether the clinic reads reports then."""

    start: datetime
    end: datetime
    label: str
    tel: str
    read: bool  # somebody is on duty
    until: datetime | None  # end of the duty, or start of the next one; None: none is known
    zone: str

    @property
    def read_words(self) -> str:
        """'The clinic reads this until 17:00.' or 'Nobody here reads this before Monday 8:00.'"""
        if self.read:
            same_day = self.until and local(self.until - timedelta(seconds=1), self.zone).date()
            if self.until and same_day == local(self.start, self.zone).date():
                return f"The clinic reads this until {_wall(self.until, self.zone)}."
            return "The clinic reads this now."
        if self.until is None:
            return "Nobody here reads this."
        return f"Nobody here reads this before {self._day_words(self.until)}."

    def _day_words(self, instant: datetime) -> str:
        """'Monday 8:00'; with its date once the weekday alone could mean another."""
        wall = local(instant, self.zone)
        ahead = (wall.date() - local(self.start, self.zone).date()).days
        day = f" {wall.day} {MONTHS[wall.month - 1]}" if ahead > 6 else ""
        return f"{WEEKDAYS[wall.weekday()]}{day} {wall.hour}:{wall.minute:02}"


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _wall(instant: datetime, zone: str) -> str:
    wall = local(instant, zone)
    return f"{wall.hour}:{wall.minute:02}" if (wall.hour, wall.minute) != (0, 0) else "24:00"


@dataclass(frozen=True, slots=True)
class Closing:
    """Closing days; numbers and duty of such a day are those of another weekday."""

    days: frozenset[date] = frozenset()
    as_weekday: int = 6  # Sunday: nobody is in

    def weekday(self, day: date) -> int:
        return self.as_weekday if day in self.days else day.weekday()


NONE_CLOSED = Closing()


def missing_hours(hours: Iterable[WeekHours]) -> list[WeekHours]:
    """The hours of the week that nothing covers, Monday first."""
    spans = sorted((h.weekday, *h.minutes) for h in hours)
    missing = []
    for weekday in range(7):
        reached = 0
        for opens, closes in [(o, c) for d, o, c in spans if d == weekday] + [(DAY, DAY)]:
            if opens > reached:
                missing.append(WeekHours(weekday, _time(reached), _time(opens)))
            reached = max(reached, closes)
    return missing


def overlapping(hours: Sequence[WeekHours]) -> list[WeekHours]:
    """Hours that begin inside others of the same weekday."""
    spans = sorted(hours, key=lambda h: (h.weekday, h.minutes))
    found = []
    for before, after in pairwise(spans):
        if before.weekday == after.weekday and after.minutes[0] < before.minutes[1]:
            found.append(after)
    return found


def _time(minutes: int) -> time:
    return time(minutes % DAY // 60, minutes % 60)


def spans(
    hours: Iterable[WeekHours],
    zone: str,
    since: datetime,
    until: datetime,
    closing: Closing = NONE_CLOSED,
) -> Iterator[tuple[datetime, datetime, WeekHours]]:
    """The hours as instants [start, end) that meet [since, until), in order of start."""
    by_day = sorted(hours, key=lambda h: h.minutes)
    day = local(since, zone).date() - ONE
    while to_utc(day, time(0), zone) < until:
        for h in by_day:
            if h.weekday == closing.weekday(day):
                start, end = _instants(h, day, zone)
                if start < end and start < until and end > since:
                    yield start, end, h
        day += ONE


def _instants(hours: WeekHours, day: date, zone: str) -> tuple[datetime, datetime]:
    closes_on = day + ONE if hours.closes == time(0) else day
    return to_utc(day, hours.opens, zone), to_utc(closes_on, hours.closes, zone)


def ring(
    numbers: Iterable[NumberHours],
    duty: Iterable[DutyHours],
    zone: str,
    since: datetime,
    until: datetime,
    closing: Closing = NONE_CLOSED,
) -> list[Ring]:
    """Whom to ring over [since, until), half-open and without a gap.

    `numbers` must leave no hour of the week out (`missing_hours`); an hour without one would be
    answered by the number before it.
    """
    tels = list(spans(numbers, zone, since, until, closing))
    watched = _watched(duty, zone, since, until, closing)
    edges = {since, until}
    edges |= {s for s, _, _ in tels} | {at for span in watched for at in span}
    cuts = sorted(at for at in edges if since <= at <= until)
    found: list[Ring] = []
    for start, end in pairwise(cuts):
        number = _number_at(tels, start)
        if number is not None:
            read, then = _read_at(watched, start)
            found.append(Ring(start, end, number.label, number.tel, read, then, zone))
    return _joined(found)


def _number_at(
    tels: Sequence[tuple[datetime, datetime, WeekHours]], at: datetime
) -> NumberHours | None:
    held = [h for start, _, h in tels if start <= at and isinstance(h, NumberHours)]
    return held[-1] if held else None


def _watched(
    duty: Iterable[DutyHours], zone: str, since: datetime, until: datetime, closing: Closing
) -> list[tuple[datetime, datetime]]:
    """When somebody is on duty, joined where one takes over from another; looks past `until`."""
    named = [h for h in duty if h.who is not None]
    joined: list[tuple[datetime, datetime]] = []
    for start, end, _ in spans(named, zone, since, until + timedelta(days=8), closing):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def _read_at(
    watched: Sequence[tuple[datetime, datetime]], at: datetime
) -> tuple[bool, datetime | None]:
    for start, end in watched:
        if start <= at < end:
            return True, end
        if start > at:
            return False, start
    return False, None


def _joined(found: Iterable[Ring]) -> list[Ring]:
    """Neighbours of the same number and the same answer as one, within a day of reading."""
    joined: list[Ring] = []
    for each in found:
        last = joined[-1] if joined else None
        if last and last.read_words == each.read_words and (last.tel, last.label, last.until) == (
            each.tel, each.label, each.until,
        ):  # fmt: skip
            joined[-1] = replace(last, end=each.end)
        else:
            joined.append(each)
    return joined


def on_duty(
    duty: Iterable[DutyHours], zone: str, now: datetime, closing: Closing = NONE_CLOSED
) -> list[str]:
    """Staff ids on duty for trouble at `now`; empty in a 'nobody' hour."""
    named = [h for h in duty if h.who is not None]
    here = spans(named, zone, now, now + timedelta(seconds=1), closing)
    return [h.who for s, e, h in here if s <= now < e and isinstance(h, DutyHours) and h.who]


def next_opening(
    hours: Iterable[WeekHours], zone: str, now: datetime, closing: Collection[date] = frozenset()
) -> datetime | None:
    """`now` if it lies in the hours, otherwise when they next begin; None within 60 days."""
    open_days = Closing(frozenset(closing), as_weekday=-1)  # no hours at all on a closing day
    for start, end, _ in spans(hours, zone, now, now + timedelta(days=LOOK_AHEAD), open_days):
        if end > now:
            return max(start, now)
    return None


def clinic_days_after(
    day: date, n: int, hours: Iterable[WeekHours], closing: Collection[date] = frozenset()
) -> date:
    """The n-th day after `day` on which the clinic is open; plain days where it has no hours."""
    open_on = {h.weekday for h in hours} or set(range(7))
    left = n
    for _ in range(n * 7 + len(closing) + 7):
        if left == 0:
            break
        day += ONE
        left -= day.weekday() in open_on and day not in closing
    return day
