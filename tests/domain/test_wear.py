"""Splint wear: what was answered, and the bounds of what was not."""

from fractions import Fraction

from homeprog.domain.adherence import percents
from homeprog.domain.wear import printed, wear


def test_unanswered_days_are_unknown_not_unworn():
    told = wear([True, True, False, None])
    assert (told.as_told, told.not_as_told, told.unanswered, told.asked) == (2, 1, 1, 4)
    assert told.bounds.lowest == Fraction(1, 2)
    assert told.bounds.shown == Fraction(2, 3)
    assert told.bounds.highest == Fraction(3, 4)
    assert percents(told.bounds) == (50, 67, 75)


def test_without_an_answer_there_is_no_shown_figure():
    bounds = wear([None, None]).bounds
    assert (bounds.lowest, bounds.shown, bounds.highest) == (Fraction(0), None, Fraction(1))
    assert percents(bounds) is None


def test_without_a_day_asked_there_is_no_figure_at_all():
    bounds = wear([]).bounds
    assert (bounds.lowest, bounds.shown, bounds.highest) == (None, None, None)


def test_it_is_printed_with_its_bounds_and_its_days():
    assert printed(wear([True, True, False, None])) == (
        "50 to 75 %, shown 67, of 4 days asked (1 not answered)"
    )
    assert printed(wear([True])) == "100 to 100 %, shown 100, of 1 day asked"
    assert printed(wear([None])) == "not known yet, of 1 day asked (1 not answered)"
    assert printed(wear([])) == "not asked"
