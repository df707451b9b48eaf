"""The rank correlation of pain and dose against scipy.stats.spearmanr."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import spearmanr

from homeprog.domain.pain import relation

FIRST = date(2026, 6, 1)
pairs = st.lists(st.tuples(st.integers(0, 10), st.integers(0, 100)), min_size=3, max_size=30)


@given(pairs)
def test_it_is_scipys_ties_and_all(drawn):
    pains, doses = zip(*drawn, strict=True)
    daily = {FIRST + timedelta(days=2 * n): Fraction(pain) for n, pain in enumerate(pains)}
    shown = {FIRST + timedelta(days=2 * n + 1): Fraction(dose) for n, dose in enumerate(doses)}
    found = relation(daily, shown).rank
    if len(set(pains)) == 1 or len(set(doses)) == 1:
        assert found is None
    else:
        assert found == pytest.approx(spearmanr(pains, doses).statistic, abs=1e-12)
