"""Local time and UTC."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.clock import ceil_minute, floor_minute, local, to_utc, wall_to_utc, zone_of

ZONES = ("Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu")


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc,arg-type]


@pytest.mark.parametrize(
    ("day", "at", "zone", "instant"),
    [
        (date(2026, 1, 15), time(7), "Europe/London", utc(2026, 1, 15, 7)),
        (date(2026, 7, 15), time(7), "Europe/London", utc(2026, 7, 15, 6)),
        (date(2026, 7, 15), time(7), "Asia/Kathmandu", utc(2026, 7, 15, 1, 15)),
    ],
)
def test_an_ordinary_wall_clock_time_has_one_instant(day, at, zone, instant):
    assert to_utc(day, at, zone) == instant


@pytest.mark.parametrize(
    ("day", "at", "zone", "instant"),
    [
        # 29 March 2026, 1:00 GMT: clocks go on to 2:00
        (date(2026, 3, 29), time(1), "Europe/London", utc(2026, 3, 29, 1)),
        (date(2026, 3, 29), time(1, 45), "Europe/London", utc(2026, 3, 29, 1)),
        (date(2026, 3, 29), time(2), "Europe/London", utc(2026, 3, 29, 1)),
        # 8 March 2026, 2:00 EST: on to 3:00
        (date(2026, 3, 8), time(2, 30), "America/New_York", utc(2026, 3, 8, 7)),
        # 4 October 2026, 2:00: on by half an hour, to 2:30 (+11)
        (date(2026, 10, 4), time(2, 20), "Australia/Lord_Howe", utc(2026, 10, 3, 15, 30)),
        # 30 December 2011 does not exist at all in Samoa
        (date(2011, 12, 30), time(12), "Pacific/Apia", utc(2011, 12, 30, 10)),
    ],
)
def test_a_time_that_does_not_exist_moves_forward_to_the_first_that_does(day, at, zone, instant):
    assert to_utc(day, at, zone) == instant


@pytest.mark.parametrize(
    ("day", "at", "zone", "instant"),
    [
        (date(2026, 10, 25), time(1, 30), "Europe/London", utc(2026, 10, 25, 0, 30)),
        (date(2026, 10, 25), time(2), "Europe/London", utc(2026, 10, 25, 2)),
        (date(2026, 11, 1), time(1, 30), "America/New_York", utc(2026, 11, 1, 5, 30)),
        (date(2026, 4, 5), time(1, 45), "Australia/Lord_Howe", utc(2026, 4, 4, 14, 45)),
    ],
)
def test_a_time_that_comes_twice_means_the_first(day, at, zone, instant):
    assert to_utc(day, at, zone) == instant


NEAR_CHANGES = st.builds(
    lambda day, minute: datetime.combine(day, time()) + timedelta(minutes=minute),
    st.sampled_from(
        [date(2026, m, d) for m, d in ((3, 8), (3, 29), (4, 5), (10, 4), (10, 25), (11, 1))]
    ),
    st.integers(-120, 6 * 60),
)


@given(NEAR_CHANGES, st.sampled_from(ZONES))
def test_the_instant_is_the_first_at_which_the_clock_reads_that_time_or_more(wall, zone):
    """Every minute of the two hours before it is tried."""
    instant = wall_to_utc(wall, zone)
    tz = ZoneInfo(zone)
    assert instant.astimezone(tz).replace(tzinfo=None) >= wall
    earlier = [instant - timedelta(minutes=m) for m in range(1, 121)]
    assert all(e.astimezone(tz).replace(tzinfo=None) < wall for e in earlier)


@given(NEAR_CHANGES, st.integers(0, 300), st.sampled_from(ZONES))
def test_a_later_wall_clock_time_is_never_an_earlier_instant(wall, minutes, zone):
    later = wall + timedelta(minutes=minutes)
    assert wall_to_utc(wall, zone) <= wall_to_utc(later, zone)


def test_local_is_the_wall_clock_of_an_instant():
    assert local(utc(2026, 7, 1, 12), "Australia/Lord_Howe").time() == time(22, 30)


def test_an_unknown_zone_is_refused():
    with pytest.raises(ZoneInfoNotFoundError):
        zone_of("Europe/Nowhere")


def test_whole_minutes_round_down_and_up():
    inside, whole = utc(2026, 1, 1, 8, 59, 30), utc(2026, 1, 1, 8, 59)
    assert floor_minute(inside) == whole
    assert ceil_minute(inside) == utc(2026, 1, 1, 9)
    assert floor_minute(whole) == whole
    assert ceil_minute(whole) == whole
    assert ceil_minute(whole + timedelta(microseconds=1)) == utc(2026, 1, 1, 9)
