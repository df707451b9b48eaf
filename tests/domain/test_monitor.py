"""When staff hear of few logged, no contact and a phase not released."""

from datetime import UTC, date, datetime, timedelta

import pytest

from homeprog.domain.adherence import DaySummary
from homeprog.domain.monitor import few_logged, no_contact, phase_overdue

TODAY = date(2026, 6, 5)


def day(logged, not_logged, unknown=0):
    """A day of slots of 10, each done whole or not at all."""
    told = 10 * logged
    return DaySummary(
        logged=logged, not_logged=not_logged, unknown=unknown, timely=told, told=told,
        known_dose=10 * (logged + not_logged), unknown_dose=10 * unknown, missing=10 * unknown,
        days=1, days_known=1,
    )  # fmt: skip


def last_days(*summaries):
    """Summaries of the days that end with yesterday."""
    count = len(summaries)
    return [(TODAY - timedelta(days=count - n), each) for n, each in enumerate(summaries)]


def test_fewer_than_half_of_the_known_dose_in_three_whole_days_is_few():
    window = few_logged(last_days(day(2, 2), day(2, 2), day(1, 3)), TODAY, None)
    assert window is not None
    assert (window.reached, window.known) == (5, 12)


def test_half_of_it_is_not_few():
    assert few_logged(last_days(day(2, 2), day(2, 2), day(2, 2)), TODAY, None) is None


def test_unknown_slots_neither_raise_nor_calm():
    silent = last_days(day(1, 1, 9), day(1, 1, 9), day(1, 1, 9))
    assert few_logged(silent, TODAY, None) is None  # 6 known slots say nothing
    enough = last_days(day(1, 2, 9), day(1, 2, 9), day(1, 2, 9))
    assert few_logged(enough, TODAY, None) is not None


def test_eight_known_slots_are_enough_and_seven_are_not():
    assert few_logged(last_days(day(0, 8)), TODAY, None) is not None
    assert few_logged(last_days(day(0, 7)), TODAY, None) is None


def test_today_and_days_longer_ago_do_not_count():
    bad_today = [*last_days(day(4, 0), day(4, 0), day(4, 0)), (TODAY, day(0, 20))]
    assert few_logged(bad_today, TODAY, None) is None
    bad_before = last_days(day(0, 20), day(4, 0), day(4, 0), day(4, 0))
    assert few_logged(bad_before, TODAY, None) is None


def test_days_up_to_the_phases_release_do_not_count():
    days = last_days(day(0, 8), day(0, 8), day(8, 0))
    assert few_logged(days, TODAY, date(2026, 6, 1)) is not None
    assert few_logged(days, TODAY, date(2026, 6, 3)) is None


WAKING_BEFORE = datetime(2026, 6, 4, 6, tzinfo=UTC)
LONG_AGO = datetime(2026, 5, 1, tzinfo=UTC)
MOMENT = timedelta(microseconds=1)


@pytest.mark.parametrize(
    ("last_word", "paired", "told"),
    [
        (WAKING_BEFORE - MOMENT, LONG_AGO, True),
        (WAKING_BEFORE, LONG_AGO, False),
        (None, WAKING_BEFORE - MOMENT, True),
        (None, WAKING_BEFORE, False),
        (LONG_AGO, WAKING_BEFORE, False),
    ],
)
def test_no_word_since_the_waking_before_the_last_is_no_contact(last_word, paired, told):
    assert no_contact(last_word, paired, WAKING_BEFORE) is told


@pytest.mark.parametrize(
    ("visit", "today", "told"),
    [
        (None, date(2026, 6, 3), False),
        (None, date(2026, 6, 4), True),
        (date(2026, 6, 9), date(2026, 6, 9), False),
        (date(2026, 6, 9), date(2026, 6, 10), True),
        (date(2026, 5, 20), date(2026, 5, 31), False),  # the visit came before the earliest day
        (date(2026, 5, 20), date(2026, 6, 1), True),
    ],
)
def test_a_phase_is_overdue_once_its_visit_has_passed_or_three_clinic_days_after(
    visit, today, told
):
    earliest, told_on = date(2026, 6, 1), date(2026, 6, 4)
    assert phase_overdue(earliest, told_on, visit, today) is told
