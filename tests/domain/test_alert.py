"""Alerts: levels, reopening and words."""

from datetime import date

import pytest

from homeprog.domain.alert import (
    KINDS,
    TROUBLE,
    TROUBLES,
    Settled,
    is_trouble,
    may_open_again,
    merged,
    words,
    worse,
)
from homeprog.domain.alert.words import SAYINGS
from homeprog.domain.trouble import KINDS as TROUBLE_KINDS

FRIDAY = date(2026, 6, 5)
SETTLED = Settled("today", ended=False, not_again_before=date(2026, 6, 9))


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
    figures = {
        "reached": 5, "known": 30, "days": 3, "lowest": 12, "shown": 17, "highest": 21,
    }  # fmt: skip
    headline, lines = words("few_logged", figures)
    assert headline == "Few logged"
    assert lines == (
        "5 of 30 known times logged in the last 3 whole days, 12 to 21 %, shown 17.",
        "What was logged, not what was done. Diaries over-report.",
    )


def test_times_are_told_in_the_clinics_zone():
    figures = {"trouble": "snap", "stop": True, "entered_at": "2026-06-05T23:30:00+00:00"}
    headline, lines = words("trouble", figures, "Europe/London")
    assert headline == "Felt or heard a snap"
    assert lines[0] == "Reported Saturday 6 June 00:30."
    assert "until a clinician resumes" in lines[1]


def test_a_phase_not_released_names_its_visit_or_its_first_day():
    figures = {"phase": "dynamic", "name": "Dynamic splint", "earliest": "2026-06-01"}
    assert words("phase_not_released", figures) == (
        "Not released: Dynamic splint",
        (
            "Possible since Monday 1 June; no visit is planned for it.",
            "Until then the stage before goes on.",
        ),
    )
    lines = words("phase_not_released", figures | {"visit": "2026-06-03"})[1]
    assert lines[0] == "The visit for it was planned for Wednesday 3 June."


def test_a_kind_not_known_here_is_still_shown():
    assert words("made_later", {}) == ("Made later", ())
