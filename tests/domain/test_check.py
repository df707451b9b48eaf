"""The daily check read back: unanswered is unknown, and the worse of two answers stands."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from homeprog.domain.adherence import percents
from homeprog.domain.check import (
    SAID,
    Check,
    CheckDay,
    Report,
    answer_words,
    detail_words,
    merged,
    questions,
    second_day_running,
    splint_off,
    splint_wear,
)
from homeprog.domain.regime.body import CheckQuestions, Phase, Splint, Wear

TODAY = date(2026, 6, 10)
ASKED = ("splint_on", "splint_holds", "no_new_swelling", "comfortable")
YES = dict.fromkeys(ASKED, "yes")
BACK = Report("splint_off_and_back")


def ago(days):
    return TODAY - timedelta(days=days)


def day(days, reports=(), details=None, **answers):
    """A day answered 'yes' but for `answers`."""
    return CheckDay(ago(days), ASKED, Check(ago(days), YES | answers, details or {}), reports)


def silent(days, reports=()):
    return CheckDay(ago(days), ASKED, None, reports)


def phase(worn="splint", **check):
    wear = Wear(True, True, True, (), "day and night")
    return Phase(
        "static", "Static", 0, Splint(worn, "a splint"), wear, check=CheckQuestions(**check)
    )


@pytest.mark.parametrize("hours", ["1_to_3", "over_3"])
def test_what_a_phone_with_an_older_plan_answers_is_read_as_it_was_meant(hours):
    found = splint_off([day(1, details={"off_hours": hours}, splint_on="no")], TODAY)
    assert found.long == (ago(1),)
    assert detail_words({"off_hours": hours}) in ("off 1 to 3 hours", "off over 3 hours")


def test_only_the_questions_that_fit_are_asked():
    assert tuple(questions(phase())) == ASKED
    assert tuple(questions(phase("plaster"))) == ASKED[1:]  # a plaster does not come off
    assert tuple(questions(phase(None))) == ("no_new_swelling",)
    assert tuple(questions(phase(band_lifts=True, after_dressing=True))) == (
        "splint_on", "splint_holds", "fingers_lift", "band_lifts", "no_new_swelling",
        "comfortable", "wound_dry",
    )  # fmt: skip
    lifting = tuple(questions(phase(active_extension_allowed=True)))
    assert "fingers_lift" in lifting
    assert "band_lifts" not in lifting


def test_an_unanswered_day_is_unknown_in_the_wear_of_the_splint():
    told = splint_wear([day(3), day(2, splint_on="no"), silent(1), day(0)])
    assert (told.as_told, told.not_as_told, told.unanswered) == (2, 1, 1)
    assert percents(told.bounds) == (50, 67, 75)


def test_a_report_that_it_was_off_a_while_counts_as_not_as_told():
    assert day(0, reports=(BACK,)).splint_as_told is False
    assert silent(0, reports=(BACK,)).splint_as_told is False
    assert day(0, reports=(Report("bump"),)).splint_as_told is True
    told = splint_wear([day(1), silent(0, reports=(BACK,))])
    assert (told.as_told, told.not_as_told, told.asked) == (1, 1, 2)


def test_a_day_that_does_not_ask_after_the_splint_is_not_in_its_figure():
    plaster = replace(silent(1), asked=("splint_holds",))
    assert splint_wear([plaster]).asked == 0


def test_off_on_two_of_four_days_is_told():
    found = splint_off([day(3, splint_on="no"), day(2), silent(0, reports=(BACK,))], TODAY)
    assert found is not None
    assert (found.days, found.long, found.of) == ((ago(3), ago(0)), (), 4)


def test_two_days_more_than_four_apart_are_not_told():
    assert splint_off([day(4, splint_on="no"), day(0, splint_on="no")], TODAY) is None


def test_a_report_and_a_no_of_one_day_are_one_day():
    assert splint_off([day(1, reports=(BACK, BACK), splint_on="no")], TODAY) is None


@pytest.mark.parametrize(
    ("hours", "told"), [("under_1", False), ("1_to_2", False), ("over_2", True), ("?", False)]
)
def test_off_for_more_than_two_hours_at_once_is_told_where_the_answer_leaves_it_possible(
    hours, told
):
    details = {"off_hours": hours}
    answered = splint_off([day(1, details=details, splint_on="no")], TODAY)
    reported = splint_off([day(1, reports=(Report(BACK.kind, details),))], TODAY)
    assert (answered is not None) is told
    assert (reported is not None) is told


def test_hours_left_over_beside_a_yes_tell_nothing():
    assert splint_off([day(1, details={"off_hours": "over_2"})], TODAY) is None


def test_swelling_two_days_running_is_found_and_one_day_is_not():
    two = [day(2, no_new_swelling="no"), day(1, no_new_swelling="no")]
    assert second_day_running(two, "no_new_swelling", TODAY) == (ago(2), ago(1))
    assert second_day_running(two[1:], "no_new_swelling", TODAY) == ()
    apart = [day(3, no_new_swelling="no"), silent(2), day(1, no_new_swelling="no")]
    assert second_day_running(apart, "no_new_swelling", TODAY) == ()


def test_the_two_days_end_today_or_yesterday_while_today_says_nothing():
    two = [day(2, comfortable="no"), day(1, comfortable="no")]
    assert second_day_running([*two, silent(0)], "comfortable", TODAY) == (ago(2), ago(1))
    assert second_day_running([*two, day(0)], "comfortable", TODAY) == ()
    assert second_day_running([*two, day(0, comfortable="no")], "comfortable", TODAY) == (
        ago(1), ago(0),
    )  # fmt: skip
    old = [day(3, comfortable="no"), day(2, comfortable="no")]
    assert second_day_running(old, "comfortable", TODAY) == ()


def test_a_report_of_swelling_or_of_the_skin_counts_as_the_same():
    days = [silent(1, reports=(Report("swelling"),)), day(0, no_new_swelling="no")]
    assert second_day_running(days, "no_new_swelling", TODAY) == (ago(1), ago(0))
    skin = [silent(1, reports=(Report("skin"),)), silent(0, reports=(Report("skin"),))]
    assert second_day_running(skin, "comfortable", TODAY) == (ago(1), ago(0))


def test_of_two_phones_answers_the_worse_stands_and_of_two_pains_the_higher():
    one = Check(TODAY, {"splint_on": "yes", "wound_dry": "cannot_see"}, {}, 2)
    other = Check(TODAY, {"splint_on": "no", "wound_dry": "yes"}, {"off_hours": "over_2"}, 5)
    for pair in ([one, other], [other, one]):
        both = merged(pair)
        assert both.answers == {"splint_on": "no", "wound_dry": "cannot_see"}
        assert (both.details, both.average_pain) == ({"off_hours": "over_2"}, 5)
    assert merged([]) is None


def test_of_two_phones_details_the_longest_time_off_stands_and_that_it_is_off_now():
    one = Check(TODAY, {"splint_on": "no"}, {"off_hours": "over_2", "off_now": True})
    other = Check(TODAY, {"splint_on": "no"}, {"off_hours": "under_1", "off_now": False})
    for pair in ([one, other], [other, one]):
        assert merged(pair).details == {"off_hours": "over_2", "off_now": True}


def test_details_of_another_sort_than_a_phone_sends_break_nothing():
    odd = {"off_hours": ["over_2"], "off_why": {"sore": 1}, "off_now": []}
    assert merged([Check(TODAY, {"splint_on": "no"}, odd)]).details == odd
    assert splint_off([day(1, details=odd, splint_on="no")], TODAY) is None
    assert detail_words(odd) == ""


def test_a_skipped_average_pain_stays_unknown_beside_one_that_was_told():
    one, other = Check(TODAY, YES, {}, None), Check(TODAY, YES, {}, 0)
    assert merged([one]).average_pain is None
    assert merged([one, other]).average_pain == 0


def test_answers_are_told_in_words_and_an_unknown_key_names_itself():
    assert answer_words("splint_holds", "no") == "splint does not hold firmly"
    assert answer_words("wound_dry", "cannot_see") == "could not see the wound"
    assert answer_words("a_new_one", "yes") == "a new one"
    assert answer_words("a_new_one", "no") == "not: a new one"
    details = {"off_hours": "1_to_2", "off_why": "sore", "off_now": True}
    assert detail_words(details) == "off 1 to 2 hours, because it was sore, off now"
    assert detail_words({"off_now": False}) == ""


def test_every_question_of_the_phone_has_words_for_staff():
    every = phase(band_lifts=True, active_extension_allowed=True, after_dressing=True)
    assert set(questions(every)) == set(SAID)
