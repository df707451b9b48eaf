"""Published run lengths through the monitor's own chain.

Sources: Brook and Evans, Biometrika 1972; Lucas and Crosier, Technometrics 1982, table 1; Lucas
and Saccucci, Technometrics 1990: as quoted in the manual pages of the R package spc
(xcusum.arl.Rd, xewma.arl.Rd), or, where said, a value from memory. 'Computed' stands where a
value is a computation of this project made apart from this code, not a published one.
"""

import numpy as np
import pytest
from scipy.special import ndtr

from homeprog.domain.monitor.chain import Chain, moves, starting_at
from homeprog.domain.monitor.row import row_run

STATES = 300


def normal_cusum(k, h, mean, head_start=0.0):
    """Mean run of the one-sided S = max(0, S + X - k), X normal, ringing at S > h.

    The grid of Brook and Evans: the outermost cell ends at h, and what falls into a cell is
    taken to be at its middle.
    """
    width = h / (STATES - 0.5)
    points = width * np.arange(STATES)
    step = points[None, :] - points[:, None]
    upper = ndtr(step + width / 2 + k - mean)
    lower = ndtr(step - width / 2 + k - mean)
    lower[:, 0] = 0.0  # all that falls below 0 is held at 0
    return run(points, np.broadcast_to(points, step.shape), upper - lower, head_start)


def normal_ewma(share, width, mean):
    """Mean run of Z = (1 - share) Z + share X from 0, ringing outside its own fixed limits."""
    limit = width * np.sqrt(share / (2 - share))
    cell = 2 * limit / STATES
    points = -limit + cell * (np.arange(STATES) + 0.5)
    gap = points[None, :] - (1 - share) * points[:, None]
    weight = ndtr((gap + cell / 2) / share - mean) - ndtr((gap - cell / 2) / share - mean)
    return run(points, np.broadcast_to(points, gap.shape), weight, 0.0)


def run(points, landing, weight, start):
    chain = Chain(moves(points, landing, weight), np.ones(len(points)))
    return chain.mean_run(starting_at(points, start))


def two_sided(k, h, mean, head_start=0.0):
    """Of two one-sided sums (Kemp 1961): with a head start each from its own."""
    up, down = normal_cusum(k, h, mean), normal_cusum(k, h, -mean)
    if not head_start:
        return 1 / (1 / up + 1 / down)
    fast_up = normal_cusum(k, h, mean, head_start)
    fast_down = normal_cusum(k, h, -mean, head_start)
    return (fast_up * down + fast_down * up - up * down) / (up + down)


SHIFTS = (0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4)


def pairs(*runs):
    return list(zip(SHIFTS, runs, strict=False))


@pytest.mark.parametrize(
    ("mean", "published"), pairs(168, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34, 2.62, 2.19, 1.71)
)
def test_two_sided_cusum_of_lucas_and_crosier_with_h_4(mean, published):
    assert two_sided(0.5, 4, mean) == pytest.approx(published, rel=0.004)


@pytest.mark.parametrize(
    ("mean", "known"), pairs(465, 139, 38.0, 17.0, 10.4, 5.75, 4.01, 3.11, 2.57, 2.01)
)
def test_two_sided_cusum_with_h_5(mean, known):
    """Values from memory (as Montgomery, Introduction to Statistical Quality Control, has them)."""
    assert two_sided(0.5, 5, mean) == pytest.approx(known, rel=0.005)


@pytest.mark.parametrize(("mean", "published"), pairs(149, 62.7, 20.1, 8.97, 5.29))
def test_two_sided_cusum_of_lucas_and_crosier_with_a_head_start_of_half_h(mean, published):
    assert two_sided(0.5, 4, mean, head_start=2.0) == pytest.approx(published, rel=0.004)


@pytest.mark.parametrize(("mean", "published"), [(0, 117.59), (1.5, 3.75)])
def test_one_sided_cusum_of_brook_and_evans_with_h_3(mean, published):
    assert normal_cusum(0.5, 3, mean) == pytest.approx(published, rel=0.001)


def test_one_sided_cusum_of_the_sas_manual():
    """k .25, h 8 and a mean of 2.5: 4.15008, as the manual of SAS/QC (function CUSUMARL) has it."""
    assert normal_cusum(0.25, 8, 2.5) == pytest.approx(4.15008, rel=1e-4)


@pytest.mark.parametrize(("h", "computed"), [(4, 335.37), (5, 930.89)])
def test_one_sided_cusum_computed_apart(h, computed):
    assert normal_cusum(0.5, h, 0) == pytest.approx(computed, rel=0.001)


EWMA = [
    # from the manual page
    (0.5, 3.071, (500, 255, 88.8, 35.9, 17.5, 6.53, 3.63)),
    (0.03, 2.437, (500, 76.7, 29.3, 17.6, 12.6, 8.07, 5.99)),
    # from memory
    (0.25, 2.998, (500, 170, 48.2, 20.1, 11.1, 5.5, 3.6)),
    (0.4, 3.054, (500, 224, 71.2, 28.4, 14.3, 5.9, 3.5)),
    (0.2, 2.962, (500, 150, 41.8, 18.2, 10.5, 5.5, 3.7)),
    (0.05, 2.615, (500, 84.1, 28.8, 16.4, 11.4, 7.1, 5.2)),
    (0.1, 2.814, (500, 106, 31.3, 15.9, 10.3, 6.1, 4.4)),
]


@pytest.mark.parametrize(
    ("share", "width", "mean", "published"),
    [
        (share, width, mean, published)
        for share, width, runs in EWMA
        for mean, published in zip((0, 0.25, 0.5, 0.75, 1, 1.5, 2), runs, strict=True)
    ],
)
def test_ewma_of_lucas_and_saccucci(share, width, mean, published):
    assert normal_ewma(share, width, mean) == pytest.approx(published, rel=0.005, abs=0.05)


def bernoulli_cusum(miss, hold, h, p):
    """Mean observations to S >= h of S = max(0, S + miss or - hold), in whole units: exact."""
    points = np.arange(h + 1, dtype=float)
    landing = np.stack([points + miss, np.maximum(0, points - hold)], axis=1)
    weight = np.where(landing < h, [p, 1 - p], 0.0)
    return run(points, landing, weight, 0.0)


# Of gamma 1/3, 1/5 and 1/2, each multiplied out to whole units. Computed exactly, apart from this
# code; the rule is that of Reynolds and Stoumbos, Journal of Quality Technology 1999. From memory
# no entry of their tables is known.
@pytest.mark.parametrize(
    ("parts", "h", "runs"),
    [
        (3, 5, (377.143, 58.077, 22.099, 8.000, 3.895)),
        (3, 8, (5211.758, 253.734, 54.590, 13.529, 5.745)),
        (3, 10, (34539.479, 658.243, 89.287, 17.528, 7.207)),
        (5, 10, (183.600, 33.326, 15.071, 6.793, 3.784)),
        (5, 14, (667.151, 60.181, 22.648, 9.422, 5.073)),
        (2, 4, (9220.0, 560.0, 115.309, 20.000, 6.113)),
    ],
)
def test_bernoulli_cusum_is_exact(parts, h, runs):
    for p, computed in zip((0.1, 0.2, 0.3, 0.5, 0.8), runs, strict=True):
        assert bernoulli_cusum(parts - 1, 1, h, p) == pytest.approx(computed, abs=0.0006)


@pytest.mark.parametrize("n", [4, 5, 6, 8, 10])
def test_bernoulli_cusum_of_fair_steps_takes_n_times_n_plus_1(n):
    """The hand check: one up or one down, held at 0, from 0 to n (a textbook random walk)."""
    assert bernoulli_cusum(1, 1, n, 0.5) == pytest.approx(n * (n + 1), rel=1e-12)


@pytest.mark.parametrize("miss", [0.5, 0.3, 0.2, 0.1])
@pytest.mark.parametrize("r", [1, 2, 3, 4, 5])
def test_a_row_of_misses_takes_as_long_as_feller_has_it(miss, r):
    """(1 - q^r) / ((1 - q) q^r) trials; Feller, An Introduction to Probability (from memory).

    Days of one slot, and of slots that know nothing of each other, must come to the same.
    """
    trials = (1 - miss**r) / ((1 - miss) * miss**r)
    assert row_run(r, 1, 1 - miss, 0.3) == pytest.approx(trials, rel=1e-9)
    assert 12 * row_run(r, 12, 1 - miss, 0.0) == pytest.approx(trials, rel=1e-9)


@pytest.mark.parametrize(
    ("miss", "r", "trials"),
    [(0.5, 2, 6), (0.5, 5, 62), (0.2, 2, 30), (0.2, 5, 3905), (0.1, 3, 1110), (0.3, 3, 51.481)],
)
def test_rows_by_their_numbers(miss, r, trials):
    """Computed by hand from the same formula."""
    assert row_run(r, 1, 1 - miss, 0.0) == pytest.approx(trials, rel=1e-5)
