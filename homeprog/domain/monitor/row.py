"""How many slots in a row without a log are rare enough to be told; by an exact chain.

Docs/METHODS.md, 'Silence'.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import count

import numpy as np

from .beta_binomial import Array, next_slot
from .chain import Chain

SILENCE_VERSION = "silence 1"  # changes with the rule, or with how r is worked out


@lru_cache(maxsize=256)
def silence_row(slots_a_day: int, p0: float, rho: float, false_in_days: int) -> int:
    """r for 'one false silence in `false_in_days` patient-days at p0'.

    `slots_a_day` of the weekday with most. Counted in parts of a day, which is the stricter way.
    """
    return next(r for r in count(1) if row_run(r, slots_a_day, p0, rho) >= false_in_days)


def row_run(r: int, slots_a_day: int, p: float, rho: float) -> float:
    """Mean patient-days, in parts, to r slots in a row without a log, of a share p logged."""
    start: Array = np.eye(r)[0]
    return row_chain(r, slots_a_day, p, rho).mean_run(start)


def row_chain(r: int, slots_a_day: int, p: float, rho: float) -> Chain:
    """The chain, from day to day, of how many slots in a row ended without a log at waking.

    The row goes on over the night; the days' shares are drawn anew, each for its day.
    """
    weight = np.zeros((r, r, slots_a_day + 1))  # [row at waking, row now, logged today]
    weight[range(r), range(r), 0] = 1.0
    length = np.zeros(r)
    for n in range(slots_a_day):
        length += weight.sum(axis=(1, 2)) / slots_a_day
        logged, missed = next_slot(weight, n, p, rho)
        weight = np.zeros_like(weight)
        weight[:, 0] = logged.sum(axis=1)
        weight[:, 1:] = missed[:, :-1]  # the r-th in a row rings
    return Chain(weight.sum(axis=2), length)
