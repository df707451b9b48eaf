"""When: phase 0, order, the day a splint may come off, load, the wrist."""

import pytest

from homeprog.domain.regime import Reason, Repair, blocking
from tests.domain.regime_cases import (
    ECRB_VII,
    EDC_MIDDLE_VI,
    EDC_MIDDLE_VII,
    body,
    exercise,
    facts,
    found,
    rules,
    set_at,
)

STATIC = "static-several-tendons"
SURGEON = Reason("As in the letter", surgeon="Dr Example", how="letter")
WRIST_MOVES = {
    "joint": "wrist",
    "digits": [],
    "from": {"degrees": 30, "direction": "extension"},
    "to": {"degrees": 10, "direction": "flexion"},
    "moves": True,
}


def test_phase_0_begins_on_day_0() -> None:
    target = set_at(body(), "phases.0.earliest_day", 1)
    assert ("phase_zero", "phases.0.earliest_day") in rules(found(target), "refuse")


def test_phase_0_moves_no_repair() -> None:
    target = set_at(body(), "phases.0.exercises", [exercise()])
    assert ("phase_zero", "phases.0.exercises") in rules(found(target), "refuse")


def test_phase_0_has_no_leading_exercise() -> None:
    target = set_at(body(), "phases.0.leading", "shoulder")
    assert ("phase_zero", "phases.0.exercises") in rules(found(target), "refuse")


def test_a_later_phase_without_a_gate_is_refused() -> None:
    target = set_at(body(), "phases.5.gated", False)
    assert ("gate", "phases.5.gated") in rules(found(target), "refuse")


def test_a_phase_earlier_than_the_one_before_is_refused() -> None:
    target = set_at(body(), "phases.4.earliest_day", 23)
    assert ("order", "phases.4.earliest_day") in rules(found(target), "refuse")


def test_a_phase_earlier_than_in_the_template_needs_a_surgeons_reason() -> None:
    target = set_at(body(), "phases.5.earliest_day", 41)
    assert ("earlier_than_template", "phases.5.earliest_day") in rules(
        found(target), "surgeon_reason"
    )


def test_a_day_the_surgeon_has_to_enter_may_be_empty_in_a_template() -> None:
    assert found(body(STATIC)) == []


def test_a_day_the_surgeon_has_to_enter_may_not_be_empty_for_a_patient() -> None:
    assert ("day_missing", "phases.2.earliest_day") in rules(found(body(STATIC), facts()), "refuse")


@pytest.mark.parametrize(("day", "refused"), [(20, True), (21, False)])
def test_the_slab_comes_off_on_day_21_at_the_earliest(day: int, refused: bool) -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", day)
    at = ("slab_off", "phases.2.earliest_day")
    assert (at in rules(found(target, facts()), "refuse")) is refused


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("splint.worn", None),
        ("wear.by_day", False),
        ("wear.by_night", False),
        ("wear.comes_off", ["for_exercise"]),
        ("wear.comes_off", ["at_rest"]),
    ],
)
def test_every_way_of_taking_the_splint_away_counts_before_day_21(
    field: str, value: object
) -> None:
    target = set_at(body(), f"phases.2.{field}", value)
    assert ("slab_off", "phases.2.earliest_day") in rules(found(target, facts()), "refuse")


def test_washing_with_the_hand_held_flat_is_not_taking_the_splint_away() -> None:
    target = set_at(body(), "phases.2.wear.comes_off", ["for_washing_hand_held_flat"])
    assert blocking(found(target, facts())) == []


def test_day_21_does_not_bind_a_tendon_cut_in_part_but_the_surgeon_sets_the_day() -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", 14)
    about = facts(Repair("EDC", "VI", "middle", cut_in_part=True, cut_percent=40))
    findings = found(target, about)
    assert {f.rule for f in blocking(findings)} >= {"removal_day"}
    assert "slab_off" not in {f.rule for f in findings}


def test_day_21_binds_if_only_one_of_two_tendons_was_cut_in_part() -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", 14)
    about = facts(EDC_MIDDLE_VI, Repair("EIP", "VI", "index", cut_in_part=True))
    assert ("slab_off", "phases.2.earliest_day") in rules(found(target, about), "refuse")


@pytest.mark.parametrize("zone", ["VII", "VIII", "IX"])
def test_a_template_for_zones_vii_to_ix_carries_no_removal_day(zone: str) -> None:
    target = set_at(body(STATIC), "zones", [zone])
    set_at(target, "phases.2.earliest_day", 42)
    assert ("removal_day", "phases.2.earliest_day") in rules(found(target), "refuse")


def test_in_zone_vii_the_surgeon_sets_the_removal_day() -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", 42)
    about = facts(EDC_MIDDLE_VII)
    assert [f.rule for f in blocking(found(target, about))] == ["removal_day"]
    assert blocking(found(target, about, reasons={"removal_day": SURGEON})) == []


@pytest.mark.parametrize(("day", "warned"), [(55, True), (56, False)])
def test_resistance_before_day_56_is_warned_of(day: int, warned: bool) -> None:
    target = set_at(body(), "phases.6.earliest_day", day)
    at = ("resistance", "phases.6.exercises.0.motion")
    assert (at in rules(found(target, facts()), "warn")) is warned


@pytest.mark.parametrize(
    "why",
    [
        {"with_it": frozenset({"transfer"})},
        {"with_it": frozenset({"tendon_graft"})},
        {"weakens": frozenset({"inflammatory_arthritis"})},
    ],
)
@pytest.mark.parametrize(("day", "warned"), [(69, True), (70, False)])
def test_resistance_waits_until_day_70_where_healing_is_late(
    why: dict[str, frozenset[str]], day: int, warned: bool
) -> None:
    target = set_at(body(), "phases.6.earliest_day", day)
    at = ("resistance", "phases.6.exercises.0.motion")
    assert (at in rules(found(target, facts(**why)), "warn")) is warned


def test_with_a_fracture_load_waits_for_the_surgeon() -> None:
    findings = found(body(), facts(with_it=frozenset({"fracture"})))
    assert [f.rule for f in blocking(findings)] == ["fracture_load"]


@pytest.mark.parametrize(("day", "warned"), [(41, True), (42, False)])
def test_wrist_and_fingers_bending_together_before_day_42_is_warned_of(
    day: int, warned: bool
) -> None:
    target = set_at(body(), "phases.5.earliest_day", day)
    set_at(target, "phases.5.exercises.1.motion", "combined_flexion")
    at = ("combined_flexion", "phases.5.exercises.1.motion")
    assert (at in rules(found(target), "warn")) is warned


def test_a_wrist_resting_in_flexion_before_day_42_needs_a_surgeons_reason() -> None:
    target = set_at(body(), "phases.1.positions.0.to.direction", "flexion")
    at = ("wrist_flexion", "phases.1.positions.0")
    assert at in rules(found(target, facts()), "surgeon_reason")


def test_a_wrist_resting_in_flexion_from_day_42_is_not_looked_at() -> None:
    held = {**WRIST_MOVES, "moves": False}
    target = set_at(body(), "phases.5.positions", [held])
    assert blocking(found(target, facts())) == []


def test_the_wrist_stays_behind_neutral_before_day_42_where_its_extensor_was_repaired() -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", 28)
    set_at(target, "phases.2.positions", [WRIST_MOVES])
    at = ("wrist_past_neutral", "phases.2.positions.0")
    assert at in rules(found(target, facts(ECRB_VII)), "surgeon_reason")
    assert at not in rules(found(target, facts(EDC_MIDDLE_VII)))


def test_a_wrist_exercise_without_a_range_is_refused_where_its_extensor_was_repaired() -> None:
    target = set_at(body(STATIC), "phases.2.earliest_day", 28)
    target["phases"][2]["exercises"].append(
        exercise(key="wrist", motion="wrist_active", digits=[], joints=["wrist"])
    )
    assert ("wrist_range", "phases.2.positions") in rules(found(target, facts(ECRB_VII)), "refuse")


def test_a_wrist_resting_at_neutral_is_not_resting_in_flexion() -> None:
    level = {"degrees": 0, "direction": "flexion"}
    held = {**WRIST_MOVES, "from": level, "to": level, "moves": False}
    target = set_at(body(STATIC), "phases.1.positions", [held])
    assert found(target) == []
