"""Slots of one day that are alike: the beta-binomial, as an urn that is drawn from slot by slot.

p is the share logged in the long run and rho how alike the slots of one day are (the correlation
of two of them). With a = p (1 - rho) / rho and b = (1 - p)(1 - rho) / rho the day's own share is
Beta(a, b), and rho = 1 / (a + b + 1). Everything here is written without a and b, so that rho = 0
(slots that know nothing of each other: the binomial) needs no case of its own.
Docs/METHODS.md, 'Few logged'.
"""

from __future__ import annotations

from math import comb, exp, log

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def next_logged(x: int, n: int, p: float, rho: float) -> float:
    """The chance that the next slot is logged after x of the day's first n: (a + x)/(a + b + n)."""
    return (p * (1 - rho) + x * rho) / (1 - rho + n * rho)


def log_likelihood(x: int, n: int, p: float, rho: float) -> float:
    """Log of the probability of one given order of x logged slots among n; 0 < p < 1."""
    done = sum(log(p * (1 - rho) + i * rho) for i in range(x))
    missed = sum(log((1 - p) * (1 - rho) + i * rho) for i in range(n - x))
    return done + missed - sum(log(1 - rho + i * rho) for i in range(n))


def pmf(x: int, n: int, p: float, rho: float) -> float:
    """The probability of x logged slots of n, in any order; 0 < p < 1."""
    return comb(n, x) * exp(log_likelihood(x, n, p, rho))


def next_slot(weight: Array, n: int, p: float, rho: float) -> tuple[Array, Array]:
    """Probability moved on by one slot, the day's (n + 1)-th: if it is logged, if it is missed.

    The last axis of `weight` is x, the slots logged of the first n; it has room for one more.
    """
    x = np.minimum(np.arange(weight.shape[-1]), n)
    chance = (p * (1 - rho) + x * rho) / (1 - rho + n * rho)
    logged = np.zeros_like(weight)
    logged[..., 1:] = (weight * chance)[..., :-1]
    return logged, weight * (1 - chance)
