"""How alike a clinic's slots of one day are, from its pooled days."""

import random

import pytest

from homeprog.domain.monitor import estimate_rho


def course(draw, level, rho, days, slots):
    """An invented course: (logged, known) of each day."""
    apart = 1 / rho - 1
    said = []
    for _ in range(days):
        share = draw.betavariate(level * apart, (1 - level) * apart)
        said.append((sum(draw.random() < share for _ in range(slots)), slots))
    return said


def clinic(seed, rho, days=60):
    """Courses whose levels and slots a day differ."""
    draw = random.Random(seed)
    return [
        course(draw, level, rho, days, slots)
        for level in (0.5, 0.7, 0.8, 0.9, 0.95)
        for slots in (4, 6, 12)
    ]


def test_it_is_the_analysis_of_variance_by_hand():
    """Two courses alike: days of 4 of 4 and of 0 of 4 in turn, but for one slot each.

    Of 100 such days 50 have 4 and 50 have 1: within = 50 x 3/4 over 300, between = 400 x .375^2.
    """
    days = [(4, 4), (1, 4)] * 50
    chance = 50 * 0.75 / 300
    between = 400 * 0.375**2
    mean_square = between / 99
    by_hand = (mean_square - chance) / (mean_square + 3 * chance)
    found = estimate_rho([days, days])
    assert found.rho == pytest.approx(by_hand, abs=1e-12)
    assert (found.days, found.courses) == (200, 2)
    assert found.least == pytest.approx(found.most)  # two courses the same leave nothing open


@pytest.mark.parametrize("rho", [0.1, 0.3, 0.5])
def test_it_finds_what_the_days_were_made_with(rho):
    found = estimate_rho(clinic(7, rho))
    assert found.rho == pytest.approx(rho, abs=0.06)
    assert found.least < rho < found.most


def test_courses_of_different_levels_are_not_taken_for_days_alike():
    """Two patients at .95 and .4 whose slots know nothing of each other."""
    draw = random.Random(1)
    apart = [course(draw, level, 1e-6, 150, 8) for level in (0.95, 0.4)]
    assert estimate_rho(apart).rho < 0.02


def test_nothing_is_said_before_200_patient_days():
    whole = clinic(1, 0.3, days=20)
    assert estimate_rho(whole[:10]) is not None
    assert estimate_rho([*whole[:9], whole[9][:19]]) is None


def test_one_course_alone_says_nothing():
    assert estimate_rho([course(random.Random(1), 0.8, 0.3, 400, 6)]) is None


def test_days_with_fewer_than_two_known_slots_do_not_count():
    whole = clinic(1, 0.3, days=20)[:10]
    padded = [[*each, (0, 0), (1, 1), (0, 1)] for each in whole]
    assert estimate_rho(padded) == estimate_rho(whole)


def test_where_all_was_logged_nothing_is_alike():
    assert estimate_rho([[(6, 6)] * 100] * 3).rho == 0


def test_all_or_nothing_days_are_wholly_alike():
    assert estimate_rho([[(6, 6), (0, 6)] * 50] * 3).rho == 1


@pytest.mark.parametrize("rho", [0.1, 0.3, 0.5])
def test_the_interval_holds_the_truth_about_as_often_as_it_says(rho):
    held = [
        found.least <= rho <= found.most
        for seed in range(150)
        if (found := estimate_rho(clinic(seed, rho, days=20)))
    ]
    assert len(held) == 150
    assert 0.87 <= sum(held) / 150 <= 0.995
