"""What a new revision widens, and what it takes back."""

import pytest

from homeprog.domain.regime import (
    limited_phases,
    parse,
    widened_phases,
    widens,
    withdrawn_exercises,
    withdraws_or_limits,
)
from tests.domain.regime_cases import Json, body, exercise, regime, set_at

DYNAMIC = 2  # the phase looked at


def told(path: str, value: object, start: Json | None = None) -> tuple[list[str], list[str]]:
    """(widened, limited) when one field of the dynamic phase is set."""
    before = parse(start or body()).phases[DYNAMIC]
    after = parse(set_at(start or body(), f"phases.{DYNAMIC}.{path}", value)).phases[DYNAMIC]
    return widens(before, after), withdraws_or_limits(before, after)


def test_the_same_phase_neither_widens_nor_limits() -> None:
    phase = regime().phases[DYNAMIC]
    assert widens(phase, phase) == []
    assert withdraws_or_limits(phase, phase) == []


WIDER = [
    ("flexion_limits.index", 45, "index: flexion stop from 30 degrees to 45 degrees"),
    (
        "flexion_limits",
        {"index": 30, "middle": 30, "ring": 40},
        "small: flexion stop from 40 degrees to none",
    ),
    ("positions.0.moves", True, "wrist: may move or rest further"),
    ("positions.1.to.degrees", 60, "index MCP: may move or rest further"),
    ("wear.by_night", False, "splint no longer worn at night"),
    ("wear.outdoors", False, "splint no longer worn outdoors"),
    ("wear.comes_off", ["for_exercise"], "splint may come off for exercise"),
    ("splint.worn", None, "sling taken away"),
    ("splint.worn", "yoke", "sling taken away"),
    ("splint.holds", ["index", "middle", "ring"], "small: no longer in the splint"),
    ("exercises.0.dose.amount", 12, "Bend against the band: more of it"),
    ("exercises.0.schedule.every", 30, "Bend against the band: more of it"),
    ("exercises.0.joints", ["MCP", "PIP"], "Bend against the band: PIP added"),
    ("exercises.0.motion", "resistance", "Bend against the band: another kind of motion"),
    ("forbidden", [], "no longer forbidden: Driving."),
    ("band.joints", [], "band no longer holds MCP"),
]
NARROWER = [
    ("flexion_limits.ring", 30, "ring: flexion stop from 40 degrees to 30 degrees"),
    ("positions.1.to.degrees", 20, "index MCP: held closer"),
    ("exercises.0.dose.amount", 8, "Bend against the band: less of it"),
    ("exercises.0.schedule.every", 120, "Bend against the band: less of it"),
    ("exercises.0.held_until_release", True, "Bend against the band: held until release"),
    ("exercises.0.digits", ["index", "middle"], "Bend against the band: ring withdrawn"),
    ("exercises", [], "Bend against the band: withdrawn"),
]


@pytest.mark.parametrize(("path", "value", "words"), WIDER)
def test_more_freedom_load_or_dose_widens(path: str, value: object, words: str) -> None:
    widened, limited = told(path, value)
    assert words in widened
    assert limited == []


@pytest.mark.parametrize(("path", "value", "words"), NARROWER)
def test_less_freedom_load_or_dose_limits(path: str, value: object, words: str) -> None:
    target = body()
    if path == "exercises":
        set_at(target, "phases.2.leading", None)
    widened, limited = told(path, value, target)
    assert widened == []
    assert words in limited


def test_what_one_way_widens_limits_the_other_way() -> None:
    start = set_at(body(), "phases.2.wear.comes_off", ["for_exercise"])
    widened, limited = told("wear.comes_off", [], start)
    assert (widened, limited) == ([], ["splint stays on for exercise"])


def test_a_new_exercise_adds_load() -> None:
    more = [*body()["phases"][DYNAMIC]["exercises"], exercise()]
    assert told("exercises", more) == (["Extra: added"], [])


def test_a_new_prohibition_takes_something_back() -> None:
    more = [*body()["phases"][DYNAMIC]["forbidden"], "Typing."]
    assert told("forbidden", more) == ([], ["newly forbidden: Typing."])


def test_a_splint_moulded_to_another_angle_waits_but_takes_nothing_back() -> None:
    start = body()
    for end in ("from", "to"):
        set_at(start, f"phases.2.positions.0.{end}.degrees", 40)
    other = {
        **start["phases"][DYNAMIC]["positions"][0],
        "from": {"degrees": 30, "direction": "extension"},
        "to": {"degrees": 30, "direction": "extension"},
    }
    assert told("positions.0", other, start) == (["wrist: may move or rest further"], [])


def test_one_splint_for_another_waits_but_takes_nothing_back() -> None:
    assert told("splint.worn", "splint") == (["sling taken away"], [])


def test_a_shifted_range_both_widens_and_limits() -> None:
    start = set_at(body(), "phases.2.positions.1.from", {"degrees": 10, "direction": "flexion"})
    shifted = {
        **start["phases"][DYNAMIC]["positions"][1],
        "from": {"degrees": 0, "direction": "flexion"},
        "to": {"degrees": 20, "direction": "flexion"},
    }
    widened, limited = told("positions.1", shifted, start)
    assert widened
    assert limited


def test_words_names_and_cautions_alone_change_nothing() -> None:
    assert told("cautions", ["Something else."]) == ([], [])
    assert told("name", "Another name") == ([], [])
    assert told("exercises.0.steps", ["Bend slowly.", "Relax."]) == ([], [])


def test_changes_are_told_by_phase() -> None:
    after = set_at(body(), "phases.2.exercises.0.dose.amount", 8)
    set_at(after, "phases.5.exercises.0.dose.amount", 12)
    assert widened_phases(regime(), parse(after)) == {"splint_off": ["Slow fist: more of it"]}
    assert limited_phases(regime(), parse(after)) == {
        "dynamic": ["Bend against the band: less of it"]
    }


def test_the_exercises_taken_back_are_named_by_key() -> None:
    before = regime().phases[DYNAMIC]
    fewer = set_at(body(), "phases.2.exercises.1.dose.amount", 3)
    assert withdrawn_exercises(before, parse(fewer).phases[DYNAMIC]) == {"shoulder"}
    gone = set_at(body(), "phases.2.exercises", [body()["phases"][2]["exercises"][0]])
    assert withdrawn_exercises(before, parse(gone).phases[DYNAMIC]) == {"shoulder"}
    more = set_at(body(), "phases.2.exercises.1.dose.amount", 8)
    assert withdrawn_exercises(before, parse(more).phases[DYNAMIC]) == frozenset()
