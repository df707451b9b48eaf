"""Alerts: levels, reopening and words."""

from datetime import UTC, date, datetime
from typing import get_args

import pytest

from homeprog.domain.alert import (
    GUESSES,
    KINDS,
    LEVEL,
    TROUBLE,
    TROUBLES,
    Settled,
    first_day,
    is_trouble,
    may_open_again,
    merged,
    next_step,
    quiet,
    rule_works,
    why,
    words,
    worse,
)
from homeprog.domain.alert.words import SAYINGS
from homeprog.domain.regime.ahead import Ground
from homeprog.domain.trouble import KINDS as TROUBLE_KINDS
from homeprog.domain.trouble import TROUBLES as TROUBLE_RULES

FRIDAY = date(2026, 6, 5)
SETTLED = Settled("today", ended=False, not_again_before=date(2026, 6, 9))


AT = "2026-06-02T09:30:00+00:00"
FEW = {
    "reached": 5, "known": 30, "lowest": 12, "shown": 17, "highest": 21, "first": "2026-06-02",
    "last": "2026-06-04", "p0": 0.85, "false_in_days": 150,
}  # fmt: skip
FIGURES = {
    "trouble": {"trouble": "snap", "stop": True, "entered_at": AT},
    "exercise_while_stopped": {"bouts": ["a", "b"]},
    "no_contact": {"last_word": AT, "since": AT},
    "few_logged": FEW,
    "silence": {
        "slots": 12, "r": 12, "since": AT, "first": "2026-06-02", "last": "2026-06-02",
        "last_bout": None, "asked_at": AT, "p0": 0.85, "false_in_days": 300,
    },
    "reminders_not_arriving": FEW | {"not_shown": 14, "of": 25, "left_out": 3},
    "not_started": {"name": "Dynamic splint", "released": AT, "first": "2026-06-02"},
    "pain_rise": {
        "baseline": 2, "now": 4.5, "days": [["2026-06-02", 4], ["2026-06-03", 5]],
        "first": "2026-06-02", "last": "2026-06-03",
    },
    "average_pain": {
        "days": [["2026-06-02", 5], ["2026-06-03", 6]], "at_least": 5, "first": "2026-06-02",
    },
    "second_pain": {
        "entries": [[AT, 7], ["2026-06-02T12:30:00+00:00", 8]], "at_least": 7,
        "first": "2026-06-02",
    },
    "excess": {
        "days": [["2026-06-02", 130], ["2026-06-04", 160]], "slots": [[AT, 25, 10]], "over": 125,
        "first": "2026-06-02",
    },
    "entered_later": {
        "share": 70, "slots": 84, "timely": 45, "first": "2026-06-02", "last": "2026-06-08",
    },
    "splint_off": {
        "days": [["2026-06-02", {"off_hours": "1_to_2"}], ["2026-06-04", {}]], "of": 4,
        "long": False, "first": "2026-06-02",
    },
    "second_day": {
        "what": ["no_new_swelling"], "days": ["2026-06-02", "2026-06-03"], "first": "2026-06-02",
    },
    "phase_not_released": {"phase": "dynamic", "name": "Dynamic", "earliest": "2026-06-02"},
    "release_lapsed": {"phase": "dynamic", "name": "Dynamic", "why": "trouble", "since": AT},
    "visit_missed": {"planned": "2026-06-02", "for": None},
    "plan_not_received": {"what": "hold", "since": AT, "phones": 1},
    "not_yet": {"item": "When to stop and ring", "said": AT},
}  # fmt: skip
PLAIN = {"few_logged", "not_started", "visit_missed"}  # the kind's own name says it


def test_every_kind_has_its_level_and_trouble_is_heard_at_once():
    assert set(LEVEL) == set(KINDS)
    assert {kind for kind, level in LEVEL.items() if level == "now"} == TROUBLE


def test_levels_stand_from_now_to_this_week():
    assert worse("now", "today")
    assert worse("today", "this_week")
    assert not worse("today", "today")
    assert not worse("this_week", "now")


def test_trouble_and_exercise_while_stopped_are_the_trouble_kinds():
    assert {kind for kind in KINDS if is_trouble(kind)} == TROUBLE
    assert set(TROUBLE) == {"trouble", "exercise_while_stopped"}


@pytest.mark.parametrize(
    ("settled", "level", "today", "opens"),
    [
        (SETTLED, "today", FRIDAY, False),
        (SETTLED, "this_week", FRIDAY, False),
        (SETTLED, "now", FRIDAY, True),
        (SETTLED, "today", date(2026, 6, 8), False),
        (SETTLED, "today", date(2026, 6, 9), True),
        (Settled("today", True, date(2026, 6, 9)), "today", FRIDAY, True),
        (Settled("today", False, None), "today", date(2027, 1, 1), False),
    ],
)
def test_a_settled_alert_comes_back_only_when_ended_worse_or_on_its_day(
    settled, level, today, opens
):
    assert may_open_again("few_logged", settled, level, today) is opens


def test_trouble_is_not_bound_by_its_settlement():
    settled = Settled("now", ended=False, not_again_before=date(2099, 1, 1))
    assert may_open_again("exercise_while_stopped", settled, "now", FRIDAY)


def test_bouts_gather_and_other_figures_are_replaced():
    old = {"bouts": ["a", "b"], "since": "x"}
    assert merged("exercise_while_stopped", old, {"bouts": ["b", "c"]}) == {
        "bouts": ["a", "b", "c"],
        "since": "x",
    }
    assert merged("few_logged", {"shown": 3, "n": 1}, {"shown": 4}) == {"shown": 4}


def test_every_kind_of_alert_and_of_trouble_has_its_words():
    assert set(SAYINGS) == set(KINDS)
    assert set(TROUBLES) == set(TROUBLE_KINDS)
    headlines = [words("trouble", {"trouble": kind})[0] for kind in TROUBLE_KINDS]
    assert len(set(headlines)) == len(TROUBLE_KINDS)


def test_few_logged_says_what_it_counts_and_what_it_cannot_know():
    headline, lines = words("few_logged", FIGURES["few_logged"])
    assert headline == "Few logged"
    assert lines == (
        "5 of the 30 due times that are known were logged, from Tuesday 2 June to Thursday 4 June.",
        "That is 17 % of the dose; it can be 12 to 21 %, for some times are not known or were "
        "entered later.",
        "What was logged, not what was done. Diaries over-report.",
    )
    assert "85 %" in why("few_logged", FIGURES["few_logged"])
    assert "once in 150 days" in why("few_logged", FIGURES["few_logged"])


def test_a_share_of_which_all_is_known_has_no_bounds():
    told = FIGURES["few_logged"] | {"lowest": 17, "highest": 17}
    assert words("few_logged", told)[1][1] == "That is 17 % of the dose."


def test_the_letters_of_a_rule_stand_only_where_it_is_said_how_it_works():
    inside = {"sum": 4.1, "h": 3.96, "slots_a_day": 15, "p0": 0.85, "p1": 0.55, "rho": 0.3}
    for kind in KINDS:
        figures = FIGURES[kind] | inside
        told = rule_works(kind, figures)
        assert bool(told) is (kind in {"few_logged", "reminders_not_arriving", "silence"})
        headline, lines = words(kind, figures)
        said = " ".join((headline, *lines, why(kind, figures), next_step(kind, figures)))
        for letters in ("p0", "p1", "rho", " S ", " S:", " h ", " h:", " r ", "waking", "known of"):
            assert letters not in said, kind
    assert "4.1" in rule_works("few_logged", FIGURES["few_logged"] | inside)


def test_trouble_that_stops_nothing_is_not_answered_as_a_stop():
    for kind, rule in TROUBLE_RULES.items():
        step = next_step("trouble", {"trouble": kind})
        if rule.level == "now":
            assert step.startswith("Ring now")
            assert "only when a clinician resumes" in step
        elif rule.level == "today":
            assert step.startswith("Ring today")


def test_a_level_that_was_accepted_is_named():
    lines = words("few_logged", FIGURES["few_logged"] | {"accepted": True, "p0": 0.5})[1]
    assert lines[2] == "Lower than the 50 % that was accepted until the next visit."


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_says_what_was_seen_why_it_rings_and_what_comes_next(kind):
    headline, lines = words(kind, FIGURES[kind], "Europe/London")
    reason, step = why(kind, FIGURES[kind]), next_step(kind)
    assert headline
    assert headline != kind.replace("_", " ").capitalize() or kind in PLAIN
    assert lines
    assert reason.endswith(".")
    assert ("once in" in reason) is (kind in GUESSES)
    assert ("no guess" in reason) is (kind not in GUESSES)
    assert step.endswith((".", "?"))
    for said in (headline, *lines, reason, step):
        assert "None" not in said
        assert "  " not in said


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_leads_to_the_days_it_is_about(kind):
    opened = datetime(2026, 6, 30, 12, tzinfo=UTC)
    expected = date(2026, 6, 30) if kind == "exercise_while_stopped" else date(2026, 6, 2)
    assert first_day(FIGURES[kind], opened, "Europe/London") == expected


@pytest.mark.parametrize("kind", [kind for kind in KINDS if not is_trouble(kind)])
def test_figures_of_an_earlier_version_of_a_rule_still_have_a_headline(kind):
    headline, _ = words(kind, {"made": "earlier"})
    assert headline


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_but_trouble_goes_quiet_when_the_course_closes(kind):
    assert quiet(kind, {"closed"}) is not is_trouble(kind)
    assert not quiet(kind, set())


def test_what_is_not_asked_for_is_not_missed():
    for circumstance in ("paused", "stopped", "in_hospital", "held"):
        for kind in ("few_logged", "silence", "reminders_not_arriving", "not_started"):
            assert quiet(kind, {circumstance})
        assert not quiet("plan_not_received", {circumstance})
        assert not quiet("trouble", {circumstance})
    assert {kind for kind in KINDS if quiet(kind, {"no_leading"})} == {
        "few_logged", "silence", "reminders_not_arriving", "not_started", "entered_later", "excess",
    }  # fmt: skip


def test_times_are_told_in_the_clinics_zone():
    figures = {"trouble": "snap", "stop": True, "entered_at": "2026-06-05T23:30:00+00:00"}
    headline, lines = words("trouble", figures, "Europe/London")
    assert headline == "Felt or heard a snap"
    assert lines[0] == "Reported Saturday 6 June 00:30."
    assert "until a clinician resumes" in lines[1]


def test_a_phase_not_released_names_its_visit_or_its_first_day():
    figures = {"phase": "dynamic", "name": "Dynamic splint", "earliest": "2026-06-01"}
    assert words("phase_not_released", figures) == (
        "Next stage not released: Dynamic splint",
        (
            "It could have begun on Monday 1 June; no visit is planned for it.",
            "Until it is released the patient goes on with the stage before.",
        ),
    )
    lines = words("phase_not_released", figures | {"visit": "2026-06-03"})[1]
    assert lines[0] == "The visit for it was planned for Wednesday 3 June; nobody has released it."


@pytest.mark.parametrize("ground", get_args(Ground))
def test_every_ground_on_which_a_release_lapses_has_words(ground):
    lines = words("release_lapsed", {"phase": "dynamic", "why": ground})[1]
    assert lines[0].endswith(".")
    assert ground not in lines[0] or ground in ("trouble", "held")


def test_a_kind_not_known_here_is_still_shown():
    assert words("made_later", {}) == ("Made later", ())
