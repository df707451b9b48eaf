"""A calendar file (RFC 5545) that rings at the times of a plan and says nothing of health.

Our own short code: the file has one shape, and what can go wrong in it (folding, escaping, clock
changes) is checked in tests against two libraries written by others. Times carry a TZID, with the
VTIMEZONE it must come with (RFC 5545 3.2.19): a slot is due at an instant of the plan's zone, also
for a patient who travels, which floating times would miss. No URL stands in it: on some phones it
would open the browser, not the app on the home screen.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from ..domain.clock import wall_to_utc, zone_of

LINE_OCTETS = 75  # RFC 5545 3.1, the line's end not counted
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")  # Monday 0
DAY = timedelta(days=1)
LONG_AGO = "19700101T000000"


@dataclass(frozen=True, slots=True)
class Ring:
    """One time of day on some weekdays. `sounds` False: it stands there, and no alarm goes off."""

    at: time  # wall clock of the zone, whole minutes
    weekdays: tuple[int, ...]  # Monday 0, ascending, never empty
    sounds: bool = True


@dataclass(frozen=True, slots=True)
class Calendar:
    """What a file holds. Both dates are of the zone, the last one included."""

    name: str  # leads every UID: stable for a patient, and means nothing to others
    title: str  # discreet: it stands on the lock screen
    zone: str  # IANA name
    first: date
    last: date
    rings: Sequence[Ring]


def calendar_file(made: Calendar, now: datetime) -> str:
    """The file's text. A later file replaces an earlier one: same UIDs, a higher SEQUENCE.

    SEQUENCE counts whole minutes since 1970 at `now`, so that it grows with each file.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Homeprog//EN", "CALSCALE:GREGORIAN"]
    lines += time_zone(made.zone, made.first, made.last)
    for number, ring in enumerate(made.rings, start=1):
        lines += _event(made, ring, number, now)
    lines.append("END:VCALENDAR")
    return "".join(f"{fold(line)}\r\n" for line in lines)


def _event(made: Calendar, ring: Ring, number: int, now: datetime) -> Iterator[str]:
    first = first_day(made.first, ring.weekdays)
    if first > made.last:
        return
    yield "BEGIN:VEVENT"
    yield f"UID:{made.name}-{number:03d}@homeprog"
    yield f"DTSTAMP:{_utc(now)}"
    yield f"SEQUENCE:{int(now.timestamp()) // 60}"
    yield f"DTSTART;TZID={made.zone}:{_wall(datetime.combine(first, ring.at))}"
    yield "DURATION:PT5M"
    yield f"RRULE:{rule(ring.weekdays, made.last, made.zone)}"
    yield f"SUMMARY:{escaped(made.title)}"
    yield "TRANSP:TRANSPARENT"  # nobody is busy by it
    yield "CLASS:PRIVATE"
    if ring.sounds:
        yield from ("BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{escaped(made.title)}")
        yield from ("TRIGGER:PT0S", "END:VALARM")
    yield "END:VEVENT"


def first_day(start: date, weekdays: Iterable[int]) -> date:
    """The first date at or after `start` on one of the weekdays: DTSTART must fit its rule."""
    return min(start + DAY * ((weekday - start.weekday()) % 7) for weekday in weekdays)


def rule(weekdays: Iterable[int], last: date, zone: str) -> str:
    """The RRULE: weekly on these days up to the end of `last`, told in UTC (RFC 5545 3.3.10)."""
    until = wall_to_utc(datetime.combine(last + DAY, time()), zone) - timedelta(seconds=1)
    return f"FREQ=WEEKLY;UNTIL={_utc(until)};BYDAY={','.join(WEEKDAYS[n] for n in weekdays)}"


def time_zone(zone: str, first: date, last: date) -> Iterator[str]:
    """The VTIMEZONE of a zone as far as these days need it."""
    start, end = (datetime.combine(day, time(), UTC) for day in (first - DAY, last + 2 * DAY))
    yield "BEGIN:VTIMEZONE"
    yield f"TZID:{zone}"
    before = _offset(zone, start)
    yield from _observance(zone, start, before, before, LONG_AGO)
    for change in _changes(zone, start, end):
        after = _offset(zone, change)
        onset = _wall((change + before).replace(tzinfo=None))  # on the clock that ends
        yield from _observance(zone, change, before, after, onset)
        before = after
    yield "END:VTIMEZONE"


def _observance(
    zone: str, at: datetime, before: timedelta, after: timedelta, onset: str
) -> Iterator[str]:
    kind = "DAYLIGHT" if after > _least(zone, at.year) else "STANDARD"
    yield f"BEGIN:{kind}"
    yield f"DTSTART:{onset}"
    yield f"TZOFFSETFROM:{_sign(before)}"
    yield f"TZOFFSETTO:{_sign(after)}"
    yield f"TZNAME:{at.astimezone(zone_of(zone)).tzname()}"
    yield f"END:{kind}"


def _changes(zone: str, start: datetime, end: datetime) -> Iterator[datetime]:
    """The instants between at which the offset changes."""
    while start < end:
        if _offset(zone, start) != _offset(zone, start + DAY):
            yield _change(zone, start, start + DAY)
        start += DAY


def _change(zone: str, low: datetime, high: datetime) -> datetime:
    """The first whole second with the offset of `high`; that of `low` is another."""
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) // 2
        if _offset(zone, middle) == _offset(zone, high):
            high = middle
        else:
            low = middle
    return high.replace(microsecond=0)


def _offset(zone: str, at: datetime) -> timedelta:
    return at.astimezone(zone_of(zone)).utcoffset() or timedelta()


def _least(zone: str, year: int) -> timedelta:
    return min(_offset(zone, datetime(year, month, 1, tzinfo=UTC)) for month in (1, 7))


def _sign(offset: timedelta) -> str:
    """'+0100', '-0330'."""
    minutes = int(offset.total_seconds()) // 60
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}{abs(minutes) % 60:02d}"


def _wall(at: datetime) -> str:
    return f"{at:%Y%m%dT%H%M%S}"


def _utc(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def escaped(text: str) -> str:
    """A TEXT value (RFC 5545 3.3.11)."""
    return re.sub(r"([\\;,])", r"\\\1", text).replace("\r\n", "\n").replace("\n", r"\n")


def fold(line: str) -> str:
    """The line in pieces of at most 75 octets, no character cut in two (RFC 5545 3.1)."""
    pieces, room = [""], LINE_OCTETS
    for character in line:
        size = len(character.encode())
        if size > room:
            pieces.append("")
            room = LINE_OCTETS - 1  # the blank that leads a folded line counts
        pieces[-1] += character
        room -= size
    return "\r\n ".join(pieces)
