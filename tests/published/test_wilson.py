"""Wilson's interval against Newcombe's examples and against scipy; the design effect's figures.

Newcombe RG, Stat Med 1998;17:857-872, compares interval methods on four examples. The table's
limits are values from memory, worked out again by a second program of ours.
"""

import pytest
from scipy.stats import binomtest

from homeprog.domain.adherence.chance import design_effect, wilson, worth

NEWCOMBE = [  # reached, of, low, high at 95 %: value from memory
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
]
OURS = [  # worked out by another program of ours
    (23, 60, 0.2709, 0.5098),
    (8, 10, 0.4902, 0.9433),
    (7, 10, 0.3968, 0.8922),
    (10, 10, 0.7225, 1.0),
    (0, 10, 0.0, 0.2775),
    (12, 14, 0.6006, 0.9599),
    (5, 10, 0.2366, 0.7634),
    (40, 50, 0.6696, 0.8876),
]


@pytest.mark.parametrize(("reached", "of", "low", "high"), NEWCOMBE + OURS)
def test_the_interval_is_the_one_published(reached, of, low, high):
    found = wilson(reached, of, 0.95)
    assert found.low == pytest.approx(low, abs=0.00005)
    assert found.high == pytest.approx(high, abs=0.00005)


@pytest.mark.parametrize("level", [0.8, 0.9, 0.95, 0.99])
@pytest.mark.parametrize(("reached", "of"), [(0, 3), (1, 3), (8, 10), (84, 84), (61, 84)])
def test_the_interval_is_scipys(reached, of, level):
    """scipy.stats.binomtest(...).proportion_ci(method='wilson') is the outside reference."""
    theirs = binomtest(reached, of).proportion_ci(confidence_level=level, method="wilson")
    found = wilson(reached, of, level)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_twelve_alike_slots_a_day_say_a_fourth_of_what_independent_ones_would():
    """Kish's design effect 1 + (m - 1) rho; both figures are our own arithmetic."""
    assert design_effect(12, 0.3) == pytest.approx(4.3)
    _, known = worth([(10, 12)] * 7, 0.3)
    assert known == pytest.approx(19.5, abs=0.05)  # 84 slots a week are about 20 independent
