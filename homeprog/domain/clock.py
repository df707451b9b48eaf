"""Local time and UTC. Instants are aware datetimes in UTC; zones are IANA names."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

MINUTE = timedelta(minutes=1)


@lru_cache(maxsize=512)
def zone_of(name: str) -> ZoneInfo:
    """The zone of an IANA name; raises ZoneInfoNotFoundError for an unknown one."""
    return ZoneInfo(name)


def to_utc(day: date, at: time, zone: str) -> datetime:
    """The instant of a wall-clock time on a local date; see `wall_to_utc`."""
    return wall_to_utc(datetime.combine(day, at), zone)


@lru_cache(maxsize=16384)  # a timetable asks for the same wakings and edges again and again
def wall_to_utc(wall: datetime, zone: str) -> datetime:
    """The instant of a wall-clock time (naive) in `zone`.

    A time that does not exist (spring) moves forward to the first that does; one that comes
    twice (autumn) means the first.
    """
    tz = zone_of(zone)
    instant = wall.replace(tzinfo=tz, fold=0).astimezone(UTC)
    if instant.astimezone(tz).replace(tzinfo=None) == wall:
        return instant
    return _end_of_gap(wall, tz)


def _end_of_gap(wall: datetime, tz: ZoneInfo) -> datetime:
    """The instant at which the clocks have just jumped over `wall`."""
    before = wall.replace(tzinfo=tz, fold=0).utcoffset()
    after = wall.replace(tzinfo=tz, fold=1).utcoffset()
    assert before is not None
    assert after is not None
    low = (wall - max(before, after)).replace(tzinfo=UTC)
    high = (wall - min(before, after)).replace(tzinfo=UTC)
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) // 2
        if middle.astimezone(tz).replace(tzinfo=None) > wall:
            high = middle
        else:
            low = middle
    return high.replace(microsecond=0)


def local(instant: datetime, zone: str) -> datetime:
    """The wall-clock time of an instant, aware, in `zone`."""
    return instant.astimezone(zone_of(zone))


def floor_minute(instant: datetime) -> datetime:
    """The whole minute at or before an instant."""
    return instant.replace(second=0, microsecond=0)


def ceil_minute(instant: datetime) -> datetime:
    """The whole minute at or after an instant."""
    floor = floor_minute(instant)
    return floor if floor == instant else floor + MINUTE
