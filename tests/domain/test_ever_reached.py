"""The short way says the same as the running sum itself."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from homeprog.domain.monitor import Levels, first_reached, sum_by_day
from homeprog.domain.monitor.ever_reached import ever_reached

DAYS = st.lists(st.lists(st.booleans(), max_size=8).map(tuple), max_size=8)


@given(DAYS, st.floats(0, 3), st.floats(0.5, 4))
def test_it_is_reached_exactly_where_the_sum_has_a_day(days, start, h):
    levels = Levels(0.85, 0.55, 0.3)
    whole = first_reached(sum_by_day(days, levels, start), h) is not None
    assert ever_reached(days, levels, start, h) is whole


@pytest.mark.parametrize(("missed", "reached"), [(4, False), (5, True)])
def test_five_missed_slots_ring_from_the_head_start(missed, reached):
    """15 slots a day: h 3.96, from 1.98; as in the tests of the watch."""
    assert ever_reached([(False,) * missed], Levels(), 1.98, 3.96) is reached
