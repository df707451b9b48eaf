"""How much and how often."""

from datetime import time

import pytest

from homeprog.domain.regime import Reason, Repair, blocking
from homeprog.domain.regime.case import slots_a_day
from homeprog.domain.regime.dose import Schedule
from tests.domain.regime_cases import body, exercise, facts, found, rules, set_at

AT = "phases.2.exercises.0"
SPOKEN = Reason("Strong repair", surgeon="Dr Example", how="spoken")


@pytest.mark.parametrize(
    ("amount", "severity"),
    [(15, None), (16, "reason"), (25, "reason"), (26, "refuse")],
)
def test_over_one_and_a_half_daily_totals_asks_a_reason_over_two_and_a_half_is_refused(
    amount: int, severity: str | None
) -> None:
    """The template means 150 a day: 15 windows of an hour, 10 each."""
    target = set_at(body(), f"{AT}.dose.amount", amount)
    found_here = [f.severity for f in found(target, facts()) if f.rule == "daily_total"]
    assert found_here == ([severity] if severity else [])


def test_a_reason_lets_a_larger_total_pass_but_not_a_refused_one() -> None:
    reasons = {"daily_total": Reason("Stiff joint")}
    larger = set_at(body(), f"{AT}.dose.amount", 20)
    assert blocking(found(larger, facts(), reasons=reasons)) == []
    refused = set_at(body(), f"{AT}.dose.amount", 40)
    assert blocking(found(refused, facts(), reasons=reasons)) != []


def test_the_total_counts_the_patients_own_waking_hours() -> None:
    about = facts(waking=((time(6), time(5)),))  # 23 windows of 10 times
    assert ("daily_total", f"{AT}.dose") in rules(found(body(), about), "reason")


def test_a_moving_exercise_the_template_does_not_have_needs_a_surgeons_reason() -> None:
    target = body()
    target["phases"][2]["exercises"].append(exercise())
    assert ("not_in_template", "phases.2.exercises.2") in rules(found(target), "surgeon_reason")


@pytest.mark.parametrize(
    ("schedule", "refused"),
    [
        ({"kind": "every", "every": 19}, True),
        ({"kind": "every", "every": 20}, False),
        ({"kind": "times_a_day", "times": 46}, True),  # 900 / 46 = 19.6 min
        ({"kind": "times_a_day", "times": 45}, False),
        ({"kind": "at", "at": ["08:00", "08:19"]}, True),
        ({"kind": "at", "at": ["08:00", "08:20"]}, False),
    ],
)
def test_slots_of_one_exercise_less_than_20_minutes_apart_are_refused(
    schedule: dict[str, object], refused: bool
) -> None:
    target = set_at(body(), f"{AT}.schedule", schedule)
    assert (("slot_gap", f"{AT}.schedule") in rules(found(target), "refuse")) is refused


def test_an_interval_longer_than_the_day_is_never_due_and_refused() -> None:
    every = {"kind": "every", "every": 1440}
    target = set_at(body("static-then-dynamic"), "phases.1.exercises.0.schedule", every)
    about = facts(waking=((time(7), time(18)),))
    assert ("never_due", "phases.1.exercises.0.schedule") in rules(found(target, about), "refuse")


@pytest.mark.parametrize(("times", "asked"), [(6, False), (7, True)])
def test_early_dynamic_motion_of_the_thumb_over_6_a_day_needs_a_surgeons_reason(
    times: int, asked: bool
) -> None:
    target = set_at(body("blank-frame"), "phases.1.earliest_day", 3)
    thumb = exercise(
        motion="active_flexion_against_band",
        digits=["thumb"],
        joints=["IP"],
        schedule={"kind": "times_a_day", "times": times},
    )
    set_at(target, "phases.1.exercises", [thumb])
    at = ("thumb_dynamic", "phases.1.exercises.0.schedule")
    about = facts(Repair("EPL", "TIV", "thumb"))
    assert (at in rules(found(target, about), "surgeon_reason")) is asked


@pytest.mark.parametrize(
    ("field", "value", "warned"),
    [
        ("schedule", {"kind": "times_a_day", "times": 3}, False),
        ("schedule", {"kind": "times_a_day", "times": 2}, True),
        ("schedule", {"kind": "times_a_day", "times": 5}, True),
        ("dose", {"amount": 5, "unit": "times"}, True),
        ("dose", {"amount": 6, "unit": "minutes"}, True),
    ],
)
def test_scar_massage_is_5_minutes_3_to_4_times_a_day(
    field: str, value: object, warned: bool
) -> None:
    target = set_at(body(), f"phases.3.exercises.1.{field}", value)
    at = ("scar_massage", "phases.3.exercises.1.dose")
    assert (at in rules(found(target), "warn")) is warned


def test_scar_massage_before_the_stitches_are_out_is_warned_of_unless_held() -> None:
    held = body("early-controlled-active")
    at = ("scar_massage_early", "phases.1.exercises.2.motion")
    assert at not in rules(found(held))
    free = set_at(held, "phases.1.exercises.2.held_until_release", False)
    assert at in rules(found(free), "warn")


def test_scar_massage_on_a_flap_waits_for_the_surgeon() -> None:
    about = facts(with_it=frozenset({"flap_or_graft"}))
    assert {f.rule for f in blocking(found(body(), about))} == {"scar_massage_flap"}
    reasons = {"scar_massage_flap": SPOKEN}
    assert blocking(found(body(), about, reasons=reasons)) == []


@pytest.mark.parametrize(("waking", "slots"), [(900, 15), (929, 15), (930, 16), (29, 0)])
def test_a_rest_of_half_an_hour_makes_one_more_hourly_slot(waking: int, slots: int) -> None:
    assert slots_a_day(Schedule("every", every=60), waking) == slots
