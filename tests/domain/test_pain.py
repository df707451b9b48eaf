"""Pain: a day's median, the baseline after a release, and what is told as a rise."""

from datetime import date, timedelta
from fractions import Fraction

import pytest

from homeprog.domain.adherence import ZERO, DaySummary
from homeprog.domain.pain import (
    average_pain_high,
    baseline,
    change,
    daily_pain,
    daily_pains,
    relation,
    rise,
)

RELEASED = date(2026, 6, 1)  # day 0 of the baseline
OPERATION = date(2026, 5, 20)


def on(number):
    """The date so many days after the release."""
    return RELEASED + timedelta(days=number)


def day(*answers, asked=None):
    """A day of one exercise with these answers, None skipped."""
    told = [pain for pain in answers if pain is not None]
    counts = tuple(told.count(n) for n in range(11))
    return DaySummary(pain_asked=len(answers) if asked is None else asked, pain=counts)


def steady(pain, first=2, last=4):
    return {on(n): Fraction(pain) for n in range(first, last + 1)}


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        ((3, 5, 4), Fraction(4)),
        ((3, 4), Fraction(7, 2)),
        ((6,), Fraction(6)),  # the only one asked
        ((6, None), None),  # one of two: not enough
        ((6, None, 2), Fraction(4)),
        ((None, None), None),
        ((), None),
    ],
)
def test_a_daily_pain_needs_two_answers_or_all_that_were_asked(answers, expected):
    assert daily_pain(day(*answers)) == expected


def test_a_skipped_answer_is_never_a_zero():
    assert daily_pain(day(8, None, None, 8)) == 8


def test_a_day_is_taken_over_all_its_exercises_and_the_day_in_progress_is_left_out():
    summaries = [(on(1), day(2, None)), (on(1), day(6, None)), (on(2), day(9, 9))]
    assert daily_pains(summaries, before=on(2)) == {on(1): Fraction(4)}


def test_a_day_that_nobody_was_asked_on_has_no_pain():
    assert daily_pains([(on(1), ZERO)], before=on(9)) == {}


def test_the_baseline_is_the_median_of_days_two_to_four_after_the_release():
    daily = {on(1): Fraction(9), on(2): Fraction(2), on(3): Fraction(3), on(4): Fraction(5),
             on(5): Fraction(9)}  # fmt: skip
    assert baseline(daily, RELEASED, on(5)) == 3
    assert baseline(steady(2, 3, 3), RELEASED, on(5)) == 2


def test_before_day_five_there_is_no_baseline_and_no_rise():
    daily = steady(1, 2, 3) | {on(4): Fraction(9)}
    assert baseline(daily, RELEASED, on(4)) is None
    assert rise(daily, RELEASED, on(4)) is None


def test_without_a_pain_on_these_days_or_without_a_release_there_is_no_baseline():
    late = steady(9, 6, 9)
    assert baseline(late, RELEASED, on(10)) is None
    assert rise(late, RELEASED, on(10)) is None
    assert rise(steady(1) | steady(9, 6, 9), None, on(10)) is None


@pytest.mark.parametrize(
    ("base", "now", "told"),
    [(2, 4, True), (2, Fraction(7, 2), False), (1, 3, False), (3, 5, True), (4, 5, False)],
)
def test_a_rise_is_two_points_over_the_baseline_and_at_least_four(base, now, told):
    daily = steady(base) | steady(now, 7, 8)
    found = rise(daily, RELEASED, on(9))
    assert (found is not None) is told
    if found is not None:
        assert (found.baseline, found.now, found.days) == (base, now, (on(7), on(8)))


def test_the_last_two_daily_pains_are_taken_together():
    daily = steady(2) | {on(7): Fraction(2), on(8): Fraction(6)}
    assert rise(daily, RELEASED, on(9)).now == 4
    daily = steady(2) | {on(7): Fraction(2), on(8): Fraction(5)}
    assert rise(daily, RELEASED, on(9)) is None


def test_pains_older_than_four_days_say_nothing_of_now():
    daily = steady(2) | {on(7): Fraction(8), on(8): Fraction(8)}
    assert rise(daily, RELEASED, on(11)) is not None
    assert rise(daily, RELEASED, on(12)) is None


def test_one_daily_pain_alone_is_no_rise():
    assert rise({on(4): Fraction(2), on(30): Fraction(9)}, RELEASED, on(31)) is None


def high(averages, today=10):
    told = {OPERATION + timedelta(days=n): pain for n, pain in averages.items()}
    found = average_pain_high(told, OPERATION, OPERATION + timedelta(days=today))
    return tuple((each - OPERATION).days for each in found)


def test_an_average_of_five_on_two_days_running_is_high():
    assert high({8: 5, 9: 6}) == (8, 9)
    assert high({8: 4, 9: 6}) == ()
    assert high({8: 5, 9: 5, 10: 4}) == ()  # the newest answer says it has gone


def test_two_days_with_one_between_do_not_run_on():
    assert high({7: 6, 9: 6}) == ()
    assert high({7: 6, 8: None, 9: 6}) == ()


def test_only_days_after_day_five_count():
    assert high({5: 9, 6: 9}, today=6) == ()
    assert high({6: 9, 7: 9}, today=7) == (6, 7)


def test_answers_older_than_four_days_say_nothing_of_now():
    assert high({8: 6, 9: 6}, today=12) == (8, 9)
    assert high({8: 6, 9: 6}, today=13) == ()


def test_a_fall_of_two_points_or_of_thirty_per_cent_is_called_real():
    assert change(steady(6) | steady(4, 7, 8), RELEASED, on(9)).real  # 2 points
    assert change(steady(3) | steady(2, 7, 8), RELEASED, on(9)).real  # 33 %
    assert not change(steady(5) | steady(4, 7, 8), RELEASED, on(9)).real  # 1 point, 20 %
    assert not change(steady(0) | steady(0, 7, 8), RELEASED, on(9)).real
    found = change(steady(5) | steady(Fraction(7, 2), 7, 8), RELEASED, on(9))
    assert (found.points, found.share, found.real) == (Fraction(-3, 2), Fraction(-3, 10), True)


def test_a_change_from_no_pain_has_no_share():
    found = change(steady(0) | steady(2, 7, 8), RELEASED, on(9))
    assert (found.points, found.share, found.real) == (2, None, True)


def test_without_a_baseline_or_a_pain_of_now_no_change_is_told():
    assert change(steady(6, 6, 8), RELEASED, on(9)) is None
    assert change(steady(6), RELEASED, on(30)) is None


def pairs(*couples):
    """Pain of a day and the dose figure of the day after."""
    daily = {on(2 * n): Fraction(pain) for n, (pain, _) in enumerate(couples)}
    shown = {on(2 * n + 1): Fraction(dose, 100) for n, (_, dose) in enumerate(couples)}
    return relation(daily, shown)


def test_pain_is_paired_with_the_dose_of_the_day_after_alone():
    daily = {on(1): Fraction(2), on(3): Fraction(5)}
    shown = {on(1): Fraction(1), on(2): Fraction(1, 2), on(5): Fraction(1)}
    assert relation(daily, shown).pairs == 1


def test_the_more_it_hurt_the_less_was_logged_the_day_after():
    found = pairs(*((n % 7, 100 - 10 * (n % 7)) for n in range(14)))
    assert (found.pairs, found.rank, found.enough) == (14, pytest.approx(-1), True)


def test_nine_pairs_are_not_enough_to_say_however_clear():
    assert not pairs(*((n, 100 - 10 * n) for n in range(9))).enough
    assert pairs(*((n, 100 - 10 * n) for n in range(10))).enough


def test_a_weak_relation_is_not_enough_to_say():
    found = pairs((1, 80), (2, 70), (3, 90), (1, 60), (2, 85), (3, 75), (1, 90), (2, 65), (3, 80),
                  (2, 75), (1, 70), (3, 85))  # fmt: skip
    assert 0 < found.rank < 0.45
    assert not found.enough


def test_a_pain_or_a_dose_that_never_moves_has_no_relation():
    assert pairs(*((3, 50 + n) for n in range(12))).rank is None
    assert not pairs(*((3, 50 + n) for n in range(12))).enough
    assert pairs().rank is None
