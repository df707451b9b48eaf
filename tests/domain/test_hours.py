"""Whom to ring and who reads it: hours of the week as instants."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.hours import (
    Closing,
    DutyHours,
    NumberHours,
    Ring,
    WeekHours,
    clinic_days_after,
    missing_hours,
    next_opening,
    on_duty,
    overlapping,
    ring,
)

LONDON = "Europe/London"
UNIT = ("Ring the hand unit", "020 7946 0101")
WARD = ("Ring the ward", "020 7946 0199")
WORKDAY = (time(8), time(17))
NUMBERS = [
    *(NumberHours(d, time(8), time(17), *UNIT) for d in range(5)),
    *(NumberHours(d, time(0), time(8), *WARD) for d in range(5)),
    *(NumberHours(d, time(17), time(0), *WARD) for d in range(5)),
    *(NumberHours(d, time(0), time(0), *WARD) for d in (5, 6)),
]
DUTY = [DutyHours(d, *WORKDAY, who="anna") for d in range(5)]
HOURS = [WeekHours(d, *WORKDAY) for d in range(5)]
DAY = timedelta(days=1)
YEAR = datetime(2026, 1, 1, tzinfo=UTC)
FRIDAY = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # 14:10 in London


def test_on_friday_afternoon_the_clinic_reads_until_five_and_then_not_before_monday() -> None:
    found = ring(NUMBERS, DUTY, LONDON, FRIDAY, FRIDAY + timedelta(days=4))
    assert [(r.tel, r.read_words) for r in found[:2]] == [
        (UNIT[1], "The clinic reads this until 17:00."),
        (WARD[1], "Nobody here reads this before Monday 8:00."),
    ]
    assert found[0].end == datetime(2026, 6, 5, 16, tzinfo=UTC)
    assert found[1].end == datetime(2026, 6, 8, 7, tzinfo=UTC)


def test_where_nobody_is_ever_on_duty_no_hour_is_promised() -> None:
    found = ring(NUMBERS, [DutyHours(0, *WORKDAY, who=None)], LONDON, FRIDAY, FRIDAY + DAY)
    assert {r.read_words for r in found} == {"Nobody here reads this."}


def test_an_opening_more_than_six_days_away_is_named_with_its_date() -> None:
    shut = Closing(frozenset(date(2026, 12, d) for d in range(24, 32)), as_weekday=6)
    since = datetime(
        2026, 12, 23, 18, tzinfo=UTC
    )  # a Wednesday; the unit opens on Friday 1 January
    assert ring(NUMBERS, DUTY, LONDON, since, since + DAY, shut)[0].read_words == (
        "Nobody here reads this before Friday 1 January 8:00."
    )


def test_a_closing_day_has_sundays_number_and_duty() -> None:
    shut = Closing(frozenset({date(2026, 6, 5)}), as_weekday=6)
    found = ring(NUMBERS, DUTY, LONDON, FRIDAY, FRIDAY + timedelta(hours=1), shut)
    assert [(r.tel, r.read) for r in found] == [(WARD[1], False)]
    assert on_duty(DUTY, LONDON, FRIDAY, shut) == []
    assert on_duty(DUTY, LONDON, FRIDAY) == ["anna"]


@given(
    since=st.integers(0, 365 * 24 * 60).map(lambda m: YEAR + timedelta(minutes=m)),
    hours=st.integers(1, 400),
)
def test_the_intervals_leave_no_gap_and_do_not_overlap(since: datetime, hours: int) -> None:
    until = since + timedelta(hours=hours)
    found = ring(NUMBERS, DUTY, LONDON, since, until)
    assert found[0].start == since
    assert found[-1].end == until
    for before, after in pairwise(found):
        assert before.end == after.start


@pytest.mark.parametrize(
    ("since", "closes"),
    [
        (datetime(2026, 3, 29, 0, tzinfo=UTC), datetime(2026, 3, 29, 16, tzinfo=UTC)),
        (datetime(2026, 10, 25, 0, tzinfo=UTC), datetime(2026, 10, 25, 17, tzinfo=UTC)),
    ],
)
def test_hours_are_wall_clock_on_the_days_of_23_and_25_hours(
    since: datetime, closes: datetime
) -> None:
    sunday = [DutyHours(6, *WORKDAY, who="anna")]
    ends = [r.end for r in ring(NUMBERS, sunday, LONDON, since, since + DAY) if r.read]
    assert ends == [closes]


def test_the_hours_without_a_number_are_named() -> None:
    assert missing_hours(NUMBERS) == []
    gaps = missing_hours([n for n in NUMBERS if n.weekday != 2 or n.opens != time(17)])
    assert [g.words for g in gaps] == ["Wednesday 17:00 to 24:00"]
    assert len(missing_hours([])) == 7


def test_two_numbers_at_one_time_are_named() -> None:
    assert overlapping(NUMBERS) == []
    twice = [*NUMBERS, NumberHours(0, time(16), time(18), *WARD)]
    assert [h.words for h in overlapping(twice)] == [
        "Monday 16:00 to 18:00", "Monday 17:00 to 24:00",
    ]  # fmt: skip


def test_the_next_opening_is_now_while_open_and_skips_closing_days() -> None:
    assert next_opening(HOURS, LONDON, FRIDAY) == FRIDAY
    evening = datetime(2026, 6, 5, 19, tzinfo=UTC)
    assert next_opening(HOURS, LONDON, evening) == datetime(2026, 6, 8, 7, tzinfo=UTC)
    closed = {date(2026, 6, 8)}
    assert next_opening(HOURS, LONDON, evening, closed) == datetime(2026, 6, 9, 7, tzinfo=UTC)
    assert next_opening([], LONDON, FRIDAY) is None


@pytest.mark.parametrize(
    ("n", "expected"),
    [(0, date(2026, 6, 5)), (1, date(2026, 6, 9)), (3, date(2026, 6, 11)), (5, date(2026, 6, 15))],
)
def test_clinic_days_pass_over_the_weekend_and_closing_days(n: int, expected: date) -> None:
    assert clinic_days_after(date(2026, 6, 5), n, HOURS, {date(2026, 6, 8)}) == expected


def test_a_duty_past_midnight_is_one_watch() -> None:
    night = [DutyHours(4, time(17), time(0), who="anna"), DutyHours(5, time(0), time(8), who="bo")]
    found: list[Ring] = ring(NUMBERS, night, LONDON, FRIDAY, FRIDAY + timedelta(hours=10))
    watched = [r for r in found if r.read]
    assert {r.until for r in watched} == {datetime(2026, 6, 6, 7, tzinfo=UTC)}
    assert watched[0].read_words == "The clinic reads this now."
