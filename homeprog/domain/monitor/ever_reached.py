"""Whether few logged holds at all: the running sum when only that is asked, each day's part kept.

Most days of a course are like others: what a day adds is worked out once for each pattern.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import accumulate

from .running_sum import Levels, evidence


def ever_reached(days: Iterable[tuple[bool, ...]], levels: Levels, start: float, h: float) -> bool:
    """Whether `first_reached` of `sum_by_day` finds a day."""
    began = start
    for day in days:
        highest, last = _adds(day, levels)
        if began + highest >= h:
            return True
        began = max(0.0, began + last)
    return False


@lru_cache(maxsize=65536)
def _adds(day: tuple[bool, ...], levels: Levels) -> tuple[float, float]:
    """The most a day adds to S after any of its known slots, and after the last."""
    looks = [evidence(x, n, levels) for n, x in enumerate(accumulate(day), 1)]
    return (max(looks), looks[-1]) if looks else (float("-inf"), 0.0)
