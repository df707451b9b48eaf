"""How often 'few logged' is false at the reference patient: the table of docs/METHODS.md."""

import random
from datetime import date, timedelta

import pytest

from homeprog.domain.adherence import DaySummary
from homeprog.domain.monitor import few_logged

TODAY = date(2026, 6, 5)
RHO = 0.3  # how alike the slots of one day are
STEADY = 0.85  # share of slots logged


def day(draw, slots):
    """A day of slots of dose 1: the share drawn from a beta, each slot by it."""
    a, b = STEADY * (1 - RHO) / RHO, (1 - STEADY) * (1 - RHO) / RHO
    share = draw.betavariate(a, b)
    logged = sum(draw.random() < share for _ in range(slots))
    return DaySummary(
        logged=logged, not_logged=slots - logged, known_dose=slots, timely=logged, told=logged,
        days=1, days_known=1,
    )  # fmt: skip


def alarms(slots, days, draw):
    """How often the condition begins to hold."""
    window, held, count = [], False, 0
    for _ in range(days):
        window = [*window, day(draw, slots)][-3:]
        dated = [(TODAY - timedelta(days=n + 1), each) for n, each in enumerate(window)]
        holds = len(window) == 3 and few_logged(dated, TODAY, None) is not None
        count += holds and not held
        held = holds
    return count


@pytest.mark.full
@pytest.mark.parametrize(("slots", "published"), [(4, 111), (6, 123), (12, 142), (16, 162)])
def test_false_alarms_are_as_rare_as_stated(slots, published):
    days = 60_000
    rate = days / alarms(slots, days, random.Random(slots))
    assert published * 0.85 <= rate <= published * 1.2
