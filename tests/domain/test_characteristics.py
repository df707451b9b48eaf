"""The tables of docs/METHODS.md say what the rules do with the settings as they ship."""

from fractions import Fraction

import pytest

from homeprog.domain.monitor import operating, silence_row, threshold
from homeprog.domain.monitor.characteristics import quiet_by_hand, three_day_mean, two_days
from tests.bench.characteristics import (
    METHODS,
    P0,
    RHO,
    SILENCE_DAYS,
    TABLES,
    printed,
    shipped,
    written,
)
from tests.bench.reference_patient import simulated

EXACT = [name for name in TABLES if name != "budget"]


@pytest.mark.parametrize("name", [*EXACT, pytest.param("budget", marks=pytest.mark.full)])
def test_the_printed_table_is_what_the_shipped_defaults_come_to(name):
    """If this fails, a default or a rule has changed: look why, then `make tables`."""
    assert printed(name, METHODS.read_text()) == TABLES[name]()


@pytest.mark.parametrize("slots", [12, 4])
def test_all_kinds_together_are_false_at_most_once_in_75_days_of_the_reference_patient(slots):
    r = silence_row(slots, P0, RHO, SILENCE_DAYS)
    found = simulated(shipped(slots), r, courses=150)
    assert found.together > 0
    assert found.patient_days / found.together >= 75
    assert found.other <= found.patient_days / 300
    assert found.silence <= found.patient_days / 300 * 1.5  # 21 expected: two standard errors


def test_writing_a_table_touches_nothing_else():
    text = METHODS.read_text()
    changed = written("limits", "| other |", text)
    assert printed("limits", changed) == "| other |"
    assert written("limits", printed("limits", text), changed) == text


def test_the_lower_the_level_the_sooner_it_rings():
    for rho in (0.1, 0.3):
        rows = operating(shipped(6), rho)
        runs, delays = [row.run for row in rows], [row.delay for row in rows if row.delay]
        assert runs == sorted(runs, reverse=True)
        assert delays == sorted(delays, reverse=True)
        assert [row.delay for row in rows if row.level >= 0.85] == [None] * 3


def test_a_fall_is_from_the_level_that_was_accepted():
    rows = operating(threshold(12, 0.5, 0.325, 0.3, 150, False), 0.3)
    assert {row.level: row.delay is None for row in rows}[0.5]
    assert {row.level: row.delay is None for row in rows}[0.4] is False


@pytest.mark.parametrize(
    ("slots", "false_after", "half", "fifth"),
    [(16, 153, 3, 2), (12, 146, 3, 2), (6, 124, 4, 2), (4, 111, 4, 2)],
)
def test_three_days_under_half_as_the_methods_say(slots, false_after, half, fifth):
    under = Fraction(1, 2)
    steady = three_day_mean(slots, 0.85, 0.3, under)
    run = 2 + steady.mean_run(two_days(slots, 0.85, 0.3))
    assert run == pytest.approx(false_after, abs=0.51)
    before = quiet_by_hand(slots, 0.85, 0.3, under)
    assert three_day_mean(slots, 0.5, 0.3, under).median_run(before) == half
    assert three_day_mean(slots, 0.2, 0.3, under).median_run(before) == fifth
