"""When staff hear of what has not come by its time."""

from datetime import UTC, date, datetime, timedelta

import pytest

from homeprog.domain.monitor import no_contact, phase_overdue
from homeprog.domain.monitor.overdue import not_received, not_started, visit_missed

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


SECOND_WAKING = datetime(2026, 6, 5, 6, tzinfo=UTC)


def test_not_started_is_told_at_the_second_waking_unless_something_was_logged():
    assert not_started(SECOND_WAKING, False, SECOND_WAKING)
    assert not not_started(SECOND_WAKING, False, SECOND_WAKING - MOMENT)
    assert not not_started(SECOND_WAKING, True, SECOND_WAKING)


def test_a_visit_is_missed_once_its_day_is_past():
    assert not visit_missed(date(2026, 6, 5), date(2026, 6, 5))
    assert visit_missed(date(2026, 6, 5), date(2026, 6, 6))


def test_a_change_is_late_after_four_clinic_hours():
    four = timedelta(hours=4)
    assert not not_received(four - MOMENT, four)
    assert not_received(four, four)
