"""The beta-binomial against values from outside: pmf, and the posterior its urn moves through."""

from math import sqrt

import numpy as np
import pytest
from scipy.stats import betabinom, binom

from homeprog.domain.monitor.beta_binomial import next_logged, next_slot, pmf


def as_share(a, b):
    """Beta(a, b) as the share p and the likeness rho of the urn."""
    return a / (a + b), 1 / (a + b + 1)


@pytest.mark.parametrize(("x", "stated"), [(0, 0.065934), (3, 0.143856), (10, 0.010989)])
def test_pmf_of_10_with_a_2_and_b_3(x, stated):
    """Computed by hand from the gamma functions."""
    assert pmf(x, 10, *as_share(2, 3)) == pytest.approx(stated, abs=5e-7)


def test_pmf_with_a_and_b_1_is_flat():
    assert [pmf(x, 5, *as_share(1, 1)) for x in range(6)] == pytest.approx([1 / 6] * 6)


@pytest.mark.parametrize("rho", [0.02, 0.1, 0.3, 0.5, 0.8])
@pytest.mark.parametrize("p", [0.2, 0.55, 0.85])
def test_pmf_is_scipys(p, rho):
    apart = 1 / rho - 1
    for n in (1, 4, 12, 16):
        ours = [pmf(x, n, p, rho) for x in range(n + 1)]
        assert ours == pytest.approx(betabinom.pmf(range(n + 1), n, p * apart, (1 - p) * apart))


def test_without_likeness_it_is_the_binomial():
    ours = [pmf(x, 12, 0.85, 0.0) for x in range(13)]
    assert ours == pytest.approx(binom.pmf(range(13), 12, 0.85))


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.8])
def test_slot_by_slot_the_urn_comes_to_the_pmf(rho):
    weight = np.zeros(13)
    weight[0] = 1.0
    for n in range(12):
        logged, missed = next_slot(weight, n, 0.85, rho)
        weight = logged + missed
    assert weight == pytest.approx([pmf(x, 12, 0.85, rho) for x in range(13)])


def test_after_437_of_980_the_next_is_expected_at_the_posterior_mean():
    """Placenta praevia, Gelman and others, Bayesian Data Analysis: mean .446, sd .016 (memory)."""
    prior = as_share(1, 1)
    mean = next_logged(437, 980, *prior)
    assert mean == pytest.approx(0.4460, abs=5e-5)
    both = mean * next_logged(438, 981, *prior)  # E[p p] of the posterior Beta(438, 544)
    assert sqrt(both - mean**2) == pytest.approx(0.0159, abs=5e-5)


def test_after_7_of_10_it_is_two_thirds():
    """Beta(1, 1) and 7 of 10 make Beta(8, 4). By hand."""
    assert next_logged(7, 10, *as_share(1, 1)) == pytest.approx(2 / 3)
