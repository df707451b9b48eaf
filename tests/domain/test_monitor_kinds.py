"""Excess, mostly entered later, reminders not arriving, a second high pain: what is told when."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest

from homeprog.domain.adherence import DaySummary
from homeprog.domain.bout import Bout
from homeprog.domain.credit import credit
from homeprog.domain.monitor.excess import LoggedDay, days_over, slots_over
from homeprog.domain.monitor.later import LaterRule, entered_later
from homeprog.domain.monitor.reminders import reminded
from homeprog.domain.monitor.second_pain import second_pain
from homeprog.domain.regime.dose import Dose
from homeprog.domain.timetable import Slot

TODAY = date(2026, 6, 20)
OPERATION = date(2026, 6, 1)


def before(days: int) -> date:
    return TODAY - timedelta(days=days)


def logged(days_ago: int, amount: int, asked: int = 100) -> LoggedDay:
    credited = min(amount, asked)
    return LoggedDay(before(days_ago), asked, credited, amount - credited)


def test_two_days_of_seven_over_125_per_cent_are_excess_and_one_is_not():
    assert [d.date for d in days_over([logged(6, 126), logged(0, 126)], TODAY)] == [
        before(6), before(0),
    ]  # fmt: skip
    assert days_over([logged(6, 126), logged(0, 125)], TODAY) == ()
    assert days_over([logged(7, 200), logged(0, 126)], TODAY) == ()


def test_a_day_that_asked_for_nothing_has_no_share_to_exceed():
    assert logged(1, 40, asked=0).share is None
    assert days_over([logged(1, 40, asked=0), logged(0, 40, asked=0)], TODAY) == ()


START = datetime(2026, 6, 20, 9, tzinfo=UTC)
SLOT = Slot("bend", "p", 1, START, START + timedelta(hours=1), TODAY, Dose(10, "times"))
LATER = START + timedelta(hours=9)


def bout(key: str, amount: int, minute: int = 5, device: str = "a", **more: object) -> Bout:
    at = START + timedelta(minutes=minute)
    return Bout(key, device, "bend", amount, at, at, at, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("bouts", "over"),
    [
        ([bout("a", 20)], {}),
        ([bout("a", 21)], {SLOT.key: 21}),
        ([bout("a", 11, 5), bout("b", 10, 40)], {SLOT.key: 21}),
        ([bout("a", 21, excess_exempt=True)], {}),  # made under an older plan
        ([bout("a", 11, 5, "mine"), bout("b", 10, 8, "my carer's")], {}),  # one go, two phones
    ],
)
def test_a_slot_over_twice_its_dose_is_told(bouts, over):
    came_to = credit([SLOT], bouts, (), LATER)
    assert slots_over({SLOT.key: 10}, bouts, came_to) == over


def test_what_was_logged_in_an_excused_slot_is_no_excess_of_it():
    bouts = [bout("a", 30)]
    assert slots_over({}, bouts, credit([SLOT], bouts, (), LATER)) == {}


def told(days_ago: int, timely: int, later: int, slots: int = 10) -> tuple[date, DaySummary]:
    return before(days_ago), DaySummary(
        logged=slots, known_dose=100, timely=timely, told=timely + later
    )


def test_more_than_half_of_the_shown_credit_told_later_is_told():
    found = entered_later([told(1, 40, 60), told(2, 50, 50)], TODAY)
    assert found is not None
    assert (found.share, found.slots) == (Fraction(110, 200), 20)


def test_half_of_it_is_not():
    assert entered_later([told(1, 50, 50), told(2, 50, 50)], TODAY) is None


def test_fewer_than_twenty_known_slots_say_nothing():
    days = [told(1, 0, 100), told(2, 0, 100, slots=9)]
    assert entered_later(days, TODAY) is None
    assert entered_later(days, TODAY, LaterRule(slots=19)) is not None


def test_today_and_what_is_longer_ago_than_seven_days_do_not_count():
    assert entered_later([told(0, 0, 100), told(1, 0, 100), told(8, 0, 100)], TODAY) is None
    assert entered_later([told(7, 0, 100), told(1, 0, 100)], TODAY) is not None


@pytest.mark.parametrize(
    ("states", "not_arriving"),
    [
        (["not_shown", "shown"], True),
        (["not_shown", "shown", "shown"], False),
        (["not_shown", "not_known", "not_known", "muted"], False),  # one may be lost anywhere
        (["not_shown", "not_shown", "not_known", "muted"], True),
        (["not_known", "muted"], False),
        ([], False),
    ],
)
def test_half_or_more_of_the_slots_known_to_have_had_no_shown_reminder(states, not_arriving):
    assert reminded(states).not_arriving is not_arriving


def pains(days_ago: int, *answers: int) -> tuple[date, DaySummary]:
    counts = tuple(answers.count(pain) for pain in range(11))
    return before(days_ago), DaySummary(pain_asked=len(answers), pain=counts)


def test_a_second_pain_of_seven_on_one_day_is_told_over_all_exercises():
    assert second_pain([pains(0, 7, 3, 8)], OPERATION, TODAY) == TODAY
    assert second_pain([pains(0, 7), pains(0, 9)], OPERATION, TODAY) == TODAY
    assert second_pain([pains(0, 7, 6)], OPERATION, TODAY) is None
    assert second_pain([pains(0, 7), pains(1, 7)], OPERATION, TODAY) is None


def test_it_is_told_from_day_four_on():
    day_three, day_four = pains(0, 7, 7), pains(0, 7, 7)
    assert second_pain([day_three], TODAY - timedelta(days=3), TODAY) is None
    assert second_pain([day_four], TODAY - timedelta(days=4), TODAY) == TODAY


def test_it_is_told_over_a_weekend_and_then_passes():
    friday = pains(3, 7, 7)
    assert second_pain([friday], OPERATION, TODAY) == before(3)
    assert second_pain([friday], OPERATION, TODAY + timedelta(days=1)) is None
