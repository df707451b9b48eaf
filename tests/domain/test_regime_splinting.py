"""How the hand is held, and words about the splint."""

import pytest

from homeprog.domain.regime import blocking
from homeprog.domain.regime.splinting import reads_as_splint_off
from tests.domain.regime_cases import body, facts, found, rules, set_at

AT = "phases.2.flexion_limits"


@pytest.mark.parametrize(
    ("digit", "degrees", "severity"),
    [
        ("index", 30, None),
        ("index", 31, "surgeon_reason"),
        ("middle", 31, "surgeon_reason"),
        ("ring", 40, None),
        ("ring", 41, "surgeon_reason"),
        ("small", 41, "surgeon_reason"),
        ("small", 59, "surgeon_reason"),
        ("index", 60, "refuse"),
        ("small", 60, "refuse"),
    ],
)
def test_the_early_flexion_stop_is_30_and_40_and_never_60(
    digit: str, degrees: int, severity: str | None
) -> None:
    target = set_at(body(), f"{AT}.{digit}", degrees)
    assert [f.severity for f in found(target) if f.field == f"{AT}.{digit}"] == (
        [severity] if severity else []
    )


def test_an_exercising_digit_without_a_stop_before_day_21_is_refused() -> None:
    target = body()
    del target["phases"][2]["flexion_limits"]["ring"]
    assert ("flexion_stop", f"{AT}.ring") in rules(found(target), "refuse")


def test_60_degrees_are_refused_until_day_24_and_free_from_then() -> None:
    target = set_at(body(), "phases.3.flexion_limits", {"index": 60})
    at = ("flexion_stop", "phases.3.flexion_limits.index")
    assert at not in rules(found(target))
    set_at(target, "phases.3.earliest_day", 23)
    assert at in rules(found(target), "refuse")


def test_bending_against_a_band_needs_the_wrist_held_in_extension() -> None:
    at = ("wrist_extension", "phases.2.positions")
    assert at not in rules(found(body()))
    level = set_at(body(), "phases.2.positions.0.from.degrees", 0)
    assert at in rules(found(level), "refuse")
    moving = set_at(body(), "phases.2.positions.0.moves", True)
    assert at in rules(found(moving), "refuse")


def test_an_exercise_against_a_band_without_a_band_is_refused() -> None:
    target = set_at(body(), "phases.2.band", None)
    assert rules(found(target), "refuse") >= {
        ("band", "phases.2.band"),
        ("band", "phases.2.check.band_lifts"),
    }


@pytest.mark.parametrize(
    ("field", "empty"), [("joints", []), ("broken_by_day", " "), ("broken_by_night", "")]
)
def test_a_band_states_its_joints_and_what_to_do_when_it_breaks(field: str, empty: object) -> None:
    target = set_at(body(), f"phases.2.band.{field}", empty)
    assert ("band", f"phases.2.band.{field}") in rules(found(target), "refuse")


def test_where_a_band_lifts_it_is_asked_about_each_day() -> None:
    target = set_at(body(), "phases.2.check.band_lifts", False)
    assert ("band", "phases.2.check.band_lifts") in rules(found(target), "refuse")


@pytest.mark.parametrize(
    ("digits", "refused"),
    [
        (["middle"], False),
        (["middle", "ring"], False),
        (["index", "middle"], True),
        (["ring", "small"], True),
        (["index", "middle", "ring"], True),
        (["index", "middle", "ring", "small"], True),
        ([], True),
    ],
)
def test_a_yoke_holds_one_or_two_digits_but_not_index_with_long_nor_ring_with_small(
    digits: list[str], refused: bool
) -> None:
    target = set_at(body(), "phases.1.splint.worn", "yoke")
    set_at(target, "phases.1.splint.holds", digits)
    at = ("yoke", "phases.1.splint.holds")
    assert (at in rules(found(target, facts()), "refuse")) is refused


@pytest.mark.parametrize("field", ["splint.words", "wear.words"])
def test_words_a_patient_reads_may_be_empty_in_a_template_but_not_for_a_patient(field: str) -> None:
    target = set_at(body(), f"phases.1.{field}", " ")
    at = ("words_missing", f"phases.1.{field}")
    assert at not in rules(found(target))
    assert at in rules(found(target, facts()), "refuse")


def test_a_phase_without_cautions_is_refused_for_a_patient() -> None:
    target = set_at(body(), "phases.1.cautions", [])
    assert ("words_missing", "phases.1.cautions") in rules(found(target, facts()), "refuse")


@pytest.mark.parametrize(
    "step",
    [
        "Take the splint off.",
        "Take off your splint.",
        "Lift your fingers off the plate.",
        "Remove the straps first.",
        "Undo the strap.",
        "Loosen it a little.",
        "Slide your hand out of the splint.",
        "Do this without the splint.",
    ],
)
def test_a_step_that_can_be_read_as_take_the_splint_off_is_refused(step: str) -> None:
    target = set_at(body(), "phases.2.exercises.0.steps.0", step)
    assert ("splint_off_words", "phases.2.exercises.0.steps.0") in rules(found(target), "refuse")


@pytest.mark.parametrize(
    "step", ["Lift your fingers up from the plate.", "Keep the splint on.", "Lower slowly."]
)
def test_a_step_that_keeps_the_splint_on_is_not_refused(step: str) -> None:
    assert not reads_as_splint_off(step)


def test_the_words_about_the_splint_may_free_it_only_where_it_comes_off_for_exercise() -> None:
    words = "Take the splint off for this."
    held = set_at(body(), "phases.2.exercises.0.with_splint", words)
    assert ("splint_off_words", "phases.2.exercises.0.with_splint") in rules(found(held), "refuse")
    freed = body("early-controlled-active")
    set_at(freed, "phases.2.exercises.0.with_splint", words)
    assert blocking(found(freed, facts())) == []


@pytest.mark.parametrize(
    ("step", "refused"),
    [
        ("Relax, let the band lift.", False),
        ("The band lifts your fingers.", False),
        ("Lift your fingers.", True),
        ("Bend, then lift against the band.", True),
    ],
)
def test_in_dynamic_extension_only_the_band_lifts(step: str, refused: bool) -> None:
    target = set_at(body(), "phases.2.exercises.0.steps.0", step)
    at = ("lift_words", "phases.2.exercises.0.steps.0")
    assert (at in rules(found(target), "refuse")) is refused


def test_in_controlled_active_motion_the_patient_lifts() -> None:
    assert found(body("early-controlled-active")) == []
