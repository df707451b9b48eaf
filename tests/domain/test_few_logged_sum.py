"""Few logged: a sum of what each day says, looked at after every slot."""

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from homeprog.domain.errors import Invalid
from homeprog.domain.monitor import Levels, accepted, first_reached, outcomes, sum_by_day
from homeprog.domain.monitor.running_sum import evidence
from tests.domain.adherence_cases import judged, pause
from tests.domain.credit_cases import at, bout, hours

LEVELS = Levels()
days = st.lists(st.lists(st.booleans(), max_size=8), max_size=6)


def day(said):
    """A day from a line such as '+-?': logged, not logged, unknown (which is left out)."""
    return [mark == "+" for mark in said if mark != "?"]


def outside(x, n, levels=LEVELS):
    """l(x, n) by scipy's beta-binomial."""
    apart = 1 / levels.rho - 1
    few, steady = (
        betabinom.logpmf(x, n, p * apart, (1 - p) * apart) for p in (levels.p1, levels.p0)
    )
    return few - steady


def ended(*said, start=0.0):
    return sum_by_day([day(each) for each in said], LEVELS, start)[-1].ended


@pytest.mark.parametrize("n", [1, 4, 12, 16])
def test_what_a_day_says_is_how_much_likelier_it_is_at_p1_than_at_p0(n):
    for x in range(n + 1):
        assert evidence(x, n, LEVELS) == pytest.approx(outside(x, n), abs=1e-9)


def test_one_slot_says_the_plain_ratio():
    assert evidence(0, 1, LEVELS) == pytest.approx(log(0.45 / 0.15))
    assert evidence(1, 1, LEVELS) == pytest.approx(log(0.55 / 0.85))


def test_slots_of_one_day_together_say_less_than_slots_of_as_many_days():
    assert ended("----") < ended("-", "-", "-", "-")


def test_it_is_looked_at_after_every_slot_and_the_day_is_taken_whole_each_time():
    (only,) = sum_by_day([day("-+-")], LEVELS)
    assert only.looks == pytest.approx([outside(0, 1), outside(1, 2), outside(1, 3)])
    assert (only.reached, only.known) == (1, 3)


def test_a_good_day_wipes_out_and_never_counts_below_nothing():
    first, second = sum_by_day([day("++++"), day("-")], LEVELS)
    assert first.looks[-1] < 0
    assert first.ended == 0
    assert second.looks[0] == pytest.approx(outside(0, 1))


def test_within_a_day_a_good_slot_after_bad_ones_is_not_held_at_nothing():
    (only,) = sum_by_day([day("++--")], LEVELS)
    assert only.looks[1] < 0
    assert only.looks[3] == pytest.approx(outside(2, 4))


def test_unknown_slots_add_nothing_and_an_unknown_day_carries_it_on():
    assert ended("-?-??") == ended("--")
    first, between, last = sum_by_day([day("--"), day("????"), day("-")], LEVELS)
    assert between.ended == first.ended == last.began
    assert between.looks == ()


def test_grounds_hold_from_the_first_look_at_h_on_even_if_it_falls_again():
    looked = sum_by_day([day("+"), day("---++++++"), day("++++")], LEVELS)
    h = looked[1].looks[2]
    assert looked[-1].ended < h
    assert first_reached(looked, h) == 1
    assert first_reached(looked, h + 1e-6) is None


def test_a_later_upload_can_take_the_grounds_away():
    before = sum_by_day([day("------"), day("------")], LEVELS)
    after = sum_by_day([day("-+++++"), day("------")], LEVELS)
    assert first_reached(before, 3.0) == 1
    assert first_reached(after, 3.0) is None


def test_nothing_to_look_at_has_no_grounds_not_even_with_a_head_start():
    assert first_reached(sum_by_day([], LEVELS, 2.0), 2.0) is None
    assert first_reached(sum_by_day([[], []], LEVELS, 2.0), 2.0) is None


def test_the_head_start_is_carried_until_a_slot_is_known():
    first, second = sum_by_day([day("?"), day("-")], LEVELS, 1.96)
    assert (first.began, first.ended) == (1.96, 1.96)
    assert second.looks[0] == pytest.approx(1.96 + outside(0, 1))


def test_an_accepted_level_is_steady_and_65_percent_of_it_is_few():
    levels = accepted(0.5, 0.3)
    assert (levels.p0, levels.p1, levels.rho) == (0.5, 0.325, 0.3)
    assert evidence(2, 4, levels) < evidence(2, 4, LEVELS)


@pytest.mark.parametrize(("level", "taken"), [(0, 0.05), (0.04, 0.05), (1, 0.95)])
def test_of_none_or_all_accepted_the_nearest_level_that_can_be_watched_is_taken(level, taken):
    levels = accepted(level, 0.3)
    assert (levels.p0, levels.p1) == (taken, pytest.approx(0.65 * taken))
    assert evidence(4, 4, levels) < 0 < evidence(0, 4, levels)


@pytest.mark.parametrize(
    ("p0", "p1", "rho"),
    [(0.5, 0.5, 0.3), (0.5, 0.6, 0.3), (1, 0.5, 0.3), (0.5, 0, 0.3), (0.8, 0.5, 1)],
)
def test_levels_that_cannot_be_told_apart_are_refused(p0, p1, rho):
    with pytest.raises(Invalid):
        Levels(p0, p1, rho)


@given(days, st.integers(0, 5), st.integers(0, 7), st.floats(0, 3))
def test_one_more_logged_slot_never_raises_it(given_days, i, j, start):
    if i >= len(given_days) or j >= len(given_days[i]) or given_days[i][j]:
        return
    better = [list(each) for each in given_days]
    better[i][j] = True
    before = sum_by_day(given_days, LEVELS, start)
    after = sum_by_day(better, LEVELS, start)
    for one, other in zip(before, after, strict=True):
        assert all(b <= a + 1e-12 for a, b in zip(one.looks, other.looks, strict=True))


@given(days)
def test_days_after_a_reset_are_as_if_nothing_had_been_before(given_days):
    """A reset is a fresh count of the slots begun since: nothing else is kept."""
    again = sum_by_day(given_days, LEVELS)
    assert sum_by_day([*given_days, [False]], LEVELS)[:-1] == again


def test_only_known_slots_past_and_begun_since_the_reset_are_counted():
    slots = hours(first=7, count=6)
    judgement = judged(
        slots, bout("a", "08:10"), bout("b", "09:10", 7), bout("c", "10:10", entered="12:50"),
        holds=[pause("11:00", "11:30")], words=("11:50",), now=at("13:00"),
    )  # fmt: skip
    assert outcomes(slots, judgement, at("07:00")) == (False, True, False, True)
    assert outcomes(slots, judgement, at("08:00")) == (True, False, True)
    assert outcomes(slots, judgement, at("08:01")) == (False, True)


def test_they_are_taken_in_the_order_of_their_ends():
    slots = hours(first=8, count=3)
    judgement = judged(slots, bout("a", "10:10"))
    assert outcomes(reversed(slots), judgement, at("00:00")) == (False, False, True)
