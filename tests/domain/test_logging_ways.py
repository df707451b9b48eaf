"""How logs were made, what went beyond the dose, and what a rehearsal's line counts."""

from fractions import Fraction

from homeprog.domain.adherence import DaySummary
from homeprog.domain.adherence.logging_ways import excess_ratio, rehearsed, ways


def test_every_way_is_counted_also_the_ones_not_used():
    made = ["paced", "counted", "counted", "later"]
    assert ways(made) == {"paced": 1, "counted": 2, "one_tap": 0, "later": 1}


def test_a_way_that_is_new_is_shown_not_dropped():
    assert ways(["by_voice"])["by_voice"] == 1


def test_excess_is_taken_of_the_dose_asked_and_shown_of_what_is_known():
    found = excess_ratio(DaySummary(known_dose=80, unknown_dose=20, excess=20))
    assert (found.lowest, found.shown) == (Fraction(1, 5), Fraction(1, 4))


def test_what_a_phone_may_still_hold_beyond_the_dose_has_no_highest():
    assert excess_ratio(DaySummary(known_dose=80, excess=20)).highest is None


def test_without_a_dose_there_is_no_ratio():
    found = excess_ratio(DaySummary(excess=20))
    assert (found.lowest, found.shown) == (None, None)
    assert excess_ratio(DaySummary(unknown_dose=10)).shown is None


def test_a_rehearsal_counts_shown_reminders_alone():
    standings = {1: "logged", 2: "later", 3: "not_logged", 4: "logged", 5: "excused", 6: "ahead",
                 7: "part", 8: "unknown"}  # fmt: skip
    reminders = dict.fromkeys((1, 2, 3, 5, 6, 7, 8), "shown") | {4: "not_shown"}
    found = rehearsed(standings, reminders)
    assert (found.shown, found.answered, found.later) == (5, 2, 1)
    assert str(found) == "rehearsal: 2 of 5 shown reminders answered, 1 entered later"


def test_a_reminder_not_known_to_be_shown_is_left_out():
    assert rehearsed({1: "logged", 2: "logged"}, {1: "not_known"}).shown == 0
