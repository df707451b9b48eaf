"""Enough to say or not: slots of one day are alike, so that a day says little."""

from fractions import Fraction
from math import comb, exp

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betaln

from homeprog.domain.adherence.chance import (
    ChanceRule,
    chance_interval,
    enough_to_say,
    wilson,
    worth,
)

counts = st.integers(0, 16).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def test_eight_of_ten_slots_of_one_day_are_not_enough_to_say():
    assert enough_to_say([(8, 10)]) == "not_enough"


def test_nothing_known_is_not_enough_to_say():
    assert enough_to_say([]) == "not_enough"
    assert enough_to_say([(0, 0)]) == "not_enough"
    found = chance_interval([])
    assert (found.low, found.high) == (0, 1)


@pytest.mark.parametrize(
    ("days", "verdict"),
    [
        ([(10, 10)], "not_enough"),  # one perfect day
        ([(0, 10)], "below"),  # one day with nothing is already clear
        ([(8, 12)] * 3, "not_enough"),
        ([(6, 12)] * 7, "below"),
        ([(9, 12)] * 7, "not_enough"),
        ([(12, 12)] * 7, "above"),
        ([(11, 12)] * 7, "not_enough"),
        ([(11, 12)] * 21, "above"),
        ([(3, 4)] * 84, "below"),
    ],
)
def test_it_is_enough_once_the_interval_lies_on_one_side_of_eighty_per_cent(days, verdict):
    assert enough_to_say(days) == verdict


def test_more_days_of_the_same_say_more():
    widths = []
    for number in (1, 3, 7, 14, 28):
        found = chance_interval([(8, 12)] * number)
        widths.append(found.high - found.low)
    assert widths == sorted(widths, reverse=True)


def test_without_correlation_it_is_plain_wilson():
    found = chance_interval([(8, 10), (3, 4)], ChanceRule(rho=0))
    assert found == wilson(11, 14, 0.9)


def test_of_slots_wholly_alike_a_day_counts_once():
    assert worth([(6, 12), (12, 12)], 1.0) == pytest.approx((1.5, 2))


@given(st.lists(counts, max_size=8), st.floats(0, 1))
def test_the_interval_holds_the_share_it_is_made_of(days, rho):
    reached, known = worth(days, rho)
    found = chance_interval(days, ChanceRule(rho=rho))
    assert 0 <= found.low <= found.high <= 1
    if known:
        assert found.low - 1e-9 <= reached / known <= found.high + 1e-9


def beta_binomial(slots, share, rho):
    """P(x of `slots`), x = 0 ... slots; alpha + beta = (1 - rho) / rho."""
    size = (1 - rho) / rho
    a, b = share * size, (1 - share) * size
    return [
        comb(slots, x) * exp(betaln(x + a, slots - x + b) - betaln(a, b)) for x in range(slots + 1)
    ]


def days_of(slots, share, number):
    """P(so many of all slots logged over `number` days), slots of one day alike (rho .3)."""
    total = [1.0]
    for _ in range(number):
        one = beta_binomial(slots, share, 0.3)
        longer = [0.0] * (len(total) + slots)
        for x, p in enumerate(total):
            for y, q in enumerate(one):
                longer[x + y] += p * q
        total = longer
    return total


def spread(logged, slots, number):
    """Any days with so many logged together: the interval knows equal days by their sum alone."""
    return [(min(slots, max(0, logged - slots * n)), slots) for n in range(number)]


@pytest.mark.parametrize("slots", [4, 12, 16])
@pytest.mark.parametrize("number", [1, 3, 7])
def test_at_a_true_eighty_per_cent_it_is_seldom_said_to_be_on_one_side(slots, number):
    """Exactly, over all outcomes: 10 % is meant for both sides, 15 % is never passed."""
    chances = days_of(slots, 0.8, number)
    wrong = {"above": 0.0, "below": 0.0, "not_enough": 0.0}
    for logged, chance in enumerate(chances):
        wrong[enough_to_say(spread(logged, slots, number))] += chance
    assert wrong["above"] + wrong["below"] <= 0.15
    assert wrong["not_enough"] >= 0.85


def test_the_share_it_is_held_against_is_a_setting():
    days = [(6, 12)] * 14
    assert enough_to_say(days) == "below"
    assert enough_to_say(days, ChanceRule(against=Fraction(2, 5))) == "not_enough"
    assert enough_to_say(days, ChanceRule(against=Fraction(3, 10))) == "above"
