"""Days covered against the published definition of the proportion of days covered.

Source of the threshold: Pharmacy Quality Alliance, measure PDC-STA: adherent at a proportion of
days covered of at least 80 %. That the proportion is days covered over days in the period is the
standard definition, value from memory. It is a measure of drugs: no threshold is published for
this repair.
"""

from fractions import Fraction

import pytest

from homeprog.domain.adherence import figures, total
from tests.domain.adherence_cases import day
from tests.domain.credit_cases import bout, hours

HOURS = range(9, 19)  # ten slots of a dose of 10


def a_day(slots_done):
    """A day whose first slots were done in full, known to the end."""
    goes = [bout(f"g{hour}", f"{hour:02}:20", 10) for hour in HOURS[:slots_done]]
    return day(hours(HOURS[0], len(HOURS)), *goes, words=("21:30",))


@pytest.mark.parametrize(
    ("done", "covered"),
    [
        ([10, 10, 10, 10], Fraction(1)),
        ([10, 8, 7, 0], Fraction(1, 2)),  # 8 of 10 is covered, 7 of 10 is not
        ([0, 0, 0], Fraction(0)),
        ([8] * 24 + [7] * 6, Fraction(24, 30)),  # 'adherent' by the borrowed threshold
    ],
)
def test_days_covered_over_days_in_the_period(done, covered):
    bounds = figures(total(map(a_day, done))).days
    assert (bounds.lowest, bounds.shown, bounds.highest) == (covered, covered, covered)
