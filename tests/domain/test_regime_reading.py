"""Reading a regime: what cannot be meant is refused, every fault at once."""

from typing import Any

import pytest

from homeprog.domain.errors import Invalid
from homeprog.domain.regime import parse, plan_hash, to_json
from tests.domain.regime_cases import TEMPLATES, body, regime, set_at

DYNAMIC = "phases.2.exercises.0"


@pytest.mark.parametrize("key", TEMPLATES)
def test_a_regime_written_and_read_again_is_the_same(key: str) -> None:
    assert to_json(regime(key)) == body(key)
    assert parse(to_json(regime(key))) == regime(key)


def test_times_of_day_survive_writing_and_reading() -> None:
    schedule = {"kind": "at", "at": ["08:00", "12:30", "19:05"]}
    target = set_at(body(), f"{DYNAMIC}.schedule", schedule)
    assert to_json(parse(target))["phases"][2]["exercises"][0]["schedule"] == schedule


def test_the_plan_hash_does_not_depend_on_the_order_of_fields() -> None:
    backwards = dict(reversed(list(body().items())))
    assert plan_hash(parse(backwards)) == plan_hash(regime())


def test_the_plan_hash_changes_with_one_degree() -> None:
    other = parse(set_at(body(), "phases.2.flexion_limits.index", 29))
    assert plan_hash(other) != plan_hash(regime())


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        (f"{DYNAMIC}.dose.amount", 0, f"{DYNAMIC}.dose.amount"),
        (f"{DYNAMIC}.dose.amount", 2.5, f"{DYNAMIC}.dose.amount"),
        (f"{DYNAMIC}.dose.amount", True, f"{DYNAMIC}.dose.amount"),
        (f"{DYNAMIC}.dose.unit", "reps", f"{DYNAMIC}.dose.unit"),
        (f"{DYNAMIC}.schedule.every", 0, f"{DYNAMIC}.schedule.every"),
        (
            f"{DYNAMIC}.schedule",
            {"kind": "times_a_day", "times": 0},
            f"{DYNAMIC}.schedule.times",
        ),
        (f"{DYNAMIC}.schedule", {"kind": "at", "at": []}, f"{DYNAMIC}.schedule.at"),
        (
            f"{DYNAMIC}.schedule",
            {"kind": "at", "at": ["09:00", "08:00"]},
            f"{DYNAMIC}.schedule.at.1",
        ),
        (f"{DYNAMIC}.schedule", {"kind": "at", "at": ["25:00"]}, f"{DYNAMIC}.schedule.at.0"),
        (f"{DYNAMIC}.schedule.kind", "hourly", f"{DYNAMIC}.schedule.kind"),
        (f"{DYNAMIC}.steps", [], f"{DYNAMIC}.steps"),
        (f"{DYNAMIC}.steps", [" "], f"{DYNAMIC}.steps.0"),
        (f"{DYNAMIC}.joints", ["knee"], f"{DYNAMIC}.joints.0"),
        (f"{DYNAMIC}.digits", ["index", "index"], f"{DYNAMIC}.digits.1"),
        (f"{DYNAMIC}.motion", "wave", f"{DYNAMIC}.motion"),
        (f"{DYNAMIC}.stepz", ["Bend."], f"{DYNAMIC}.stepz"),
        ("phases.2.positions.0.from.degrees", -30, "phases.2.positions.0.from.degrees"),
        ("phases.2.positions.0.from.direction", "up", "phases.2.positions.0.from.direction"),
        ("phases.2.flexion_limits.index", -1, "phases.2.flexion_limits.index"),
        ("phases.2.flexion_limits", {"toe": 30}, "phases.2.flexion_limits.toe"),
        ("phases.2.flexion_limits", [30], "phases.2.flexion_limits"),
        ("phases.2.earliest_day", -1, "phases.2.earliest_day"),
        ("phases.2.key", "", "phases.2.key"),
        ("phases.2.key", "static", "phases.2.key"),
        ("phases.2.exercises.1.key", "bend_to_stop", "phases.2.exercises.1.key"),
        ("phases.2.leading", "no_such", "phases.2.leading"),
        ("phases.2.splint.worn", "cast", "phases.2.splint.worn"),
        ("phases.2.wear.comes_off", ["sometimes"], "phases.2.wear.comes_off.0"),
        ("phases.2.wear.by_day", "yes", "phases.2.wear.by_day"),
        ("phases.2.cautions", "one", "phases.2.cautions"),
        ("phases", [], "phases"),
        ("phases.1", "static", "phases.1"),
        ("schema", 2, "schema"),
        ("name", "  ", "name"),
        ("zones", ["X"], "zones.0"),
        ("structures", ["FDP"], "structures.0"),
    ],
)
def test_what_cannot_be_meant_is_refused_at_its_field(path: str, value: Any, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        parse(set_at(body(), path, value))
    assert field in refused.value.fields


def test_every_fault_is_told_at_once() -> None:
    target = set_at(body(), f"{DYNAMIC}.dose.amount", 0)
    set_at(target, "phases.1.positions.0.to.degrees", -45)
    set_at(target, "zones", ["X"])
    with pytest.raises(Invalid) as refused:
        parse(target)
    assert set(refused.value.fields) == {
        f"{DYNAMIC}.dose.amount",
        "phases.1.positions.0.to.degrees",
        "zones.0",
    }


@pytest.mark.parametrize("nonsense", [None, [], "regime", 7])
def test_what_is_no_object_is_refused_and_not_a_crash(nonsense: object) -> None:
    with pytest.raises(Invalid):
        parse(nonsense)


def test_a_rehearsal_may_not_bear_the_key_of_an_exercise() -> None:
    rehearsal = {
        "key": "shoulder",
        "name": "Practice",
        "steps": ["Move your thumb."],
        "schedule": {"kind": "times_a_day", "times": 4},
    }
    with pytest.raises(Invalid) as refused:
        parse(set_at(body(), "phases.1.rehearsal", rehearsal))
    assert "phases.1.rehearsal.key" in refused.value.fields
    kept = parse(set_at(body(), "phases.1.rehearsal", {**rehearsal, "key": "practice"}))
    assert to_json(kept)["phases"][1]["rehearsal"]["key"] == "practice"


@pytest.mark.parametrize(("phase", "key"), [(1, "bend_to_stop"), (2, "practice")])
def test_a_rehearsal_is_kept_apart_from_what_is_counted(phase: int, key: str) -> None:
    """Not even of a later stage may it bear the key; nor is there one beside a leading exercise."""
    rehearsal = {
        "key": key,
        "name": "Practice",
        "steps": ["Move your thumb."],
        "schedule": {"kind": "times_a_day", "times": 4},
    }
    with pytest.raises(Invalid) as refused:
        parse(set_at(body(), f"phases.{phase}.rehearsal", rehearsal))
    assert any(field.startswith(f"phases.{phase}.rehearsal") for field in refused.value.fields)
