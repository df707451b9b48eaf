"""The shipped regimes against the figures of their sources, read one by one."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from homeprog.domain.regime import Limits, Phase, Regime, Repair, RepairFacts, check, parse
from homeprog.domain.regime.case import slots_a_day

SHIPPED = Path(__file__).resolve().parents[2] / "homeprog" / "starting_points" / "regimes"
KEYS = ("static-then-dynamic", "early-controlled-active", "static-several-tendons", "blank-frame")
COMMON = "common practice, no source"


def document(key: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((SHIPPED / f"{key}.json").read_text())
    return loaded


def regime(key: str) -> Regime:
    return parse(document(key)["body"])


def phase(key: str, name: str) -> Phase:
    found = regime(key).phase(name)
    assert found is not None
    return found


def angles(of: Phase, joint: str, digit: str | None = None) -> tuple[Any, ...]:
    """((degrees, word), (degrees, word), moves) of a joint."""
    for each in of.positions:
        if each.joint == joint and (digit is None or digit in each.digits):
            start, end = each.start, each.end
            return (start.degrees, start.direction), (end.degrees, end.direction), each.moves
    raise AssertionError(f"no position for {joint}")


@pytest.mark.parametrize("key", ["static-then-dynamic", "static-several-tendons"])
def test_static_splint_holds_the_wrist_at_30_to_45_extension_common_practice(key: str) -> None:
    """Common practice, no source."""
    assert angles(phase(key, "static"), "wrist") == ((30, "extension"), (45, "extension"), False)


@pytest.mark.parametrize("key", ["static-then-dynamic", "static-several-tendons"])
def test_static_splint_holds_the_big_knuckles_at_20_flexion_common_practice(key: str) -> None:
    """Common practice, no source."""
    assert angles(phase(key, "static"), "MCP") == ((20, "flexion"), (20, "flexion"), False)


@pytest.mark.parametrize("joint", ["PIP", "DIP"])
def test_static_splint_leaves_the_ip_joints_free_to_move_actively_common_practice(
    joint: str,
) -> None:
    """Common practice, no source; immediate IP motion: e-hand.com/thr/thr065.htm."""
    static = phase("static-then-dynamic", "static")
    assert angles(static, joint)[2] is True
    tips = static.exercise("finger_tips")
    assert tips is not None
    assert joint in tips.joints


def test_static_holds_the_thumb_ip_joint_at_0_common_practice() -> None:
    """Common practice, no source."""
    static = phase("static-several-tendons", "static")
    assert angles(static, "IP", "thumb") == ((0, "extension"), (0, "extension"), False)


def test_dynamic_begins_after_one_static_week_common_practice() -> None:
    """Common practice, no source: 'one week' means 7 days are complete."""
    assert phase("static-then-dynamic", "dynamic").earliest_day == 7
    assert phase("static-then-dynamic", "static").leading is None


def test_dynamic_is_10_times_every_hour_awake_common_practice() -> None:
    """Common practice, no source: about 10 times every hour; 7 to 22 o'clock make 15 hours."""
    leads = phase("static-then-dynamic", "dynamic").leads
    assert leads is not None
    assert (leads.dose.amount, leads.dose.unit, leads.schedule.every) == (10, "times", 60)
    assert slots_a_day(leads.schedule, 15 * 60) == 15
    assert leads.daily_total == 150


def test_dynamic_bends_actively_against_a_band_that_straightens_the_big_knuckles() -> None:
    """Common practice, no source: the wrist held in extension, MCP joints lifted passively."""
    dynamic = phase("static-then-dynamic", "dynamic")
    assert dynamic.leads is not None
    assert dynamic.leads.motion == "active_flexion_against_band"
    assert dynamic.band is not None
    assert dynamic.band.joints == ("MCP",)
    assert angles(dynamic, "wrist") == ((30, "extension"), (45, "extension"), False)


def test_early_flexion_stop_is_30_index_and_long_40_ring_and_small_from_memory() -> None:
    """Value from memory: Evans and Burkhalter 1986; Evans 1995."""
    limits = phase("static-then-dynamic", "dynamic").limits
    assert limits == {"index": 30, "middle": 30, "ring": 40, "small": 40}


def test_the_stop_is_opened_at_day_21_to_24_from_memory() -> None:
    """Value from memory: Evans and Burkhalter 1986; Evans 1995."""
    opened = phase("static-then-dynamic", "dynamic_wide").earliest_day
    assert opened is not None
    assert 21 <= opened <= 24


def test_dynamic_frees_the_wrist_after_4_weeks() -> None:
    """e-hand.com/thr/thr066.htm: wrist component off at 4 to 6 weeks; n weeks are 7n days."""
    assert phase("static-then-dynamic", "wrist_free").earliest_day == 28


def test_controlled_active_splint_is_wrist_45_extension_knuckles_50_flexion_ip_0() -> None:
    """Guideline of 2018, scribd 534801421."""
    active = phase("early-controlled-active", "controlled_active")
    assert angles(active, "wrist") == ((45, "extension"), (45, "extension"), False)
    assert angles(active, "MCP")[1] == (50, "flexion")
    assert angles(active, "PIP") == ((0, "extension"), (0, "extension"), False)


@pytest.mark.parametrize("key", ["lift", "hook"])
def test_controlled_active_is_4_times_4_a_day_and_not_hourly(key: str) -> None:
    """Guideline of 2018, scribd 534801421."""
    found = phase("early-controlled-active", "controlled_active").exercise(key)
    assert found is not None
    assert (found.dose.amount, found.schedule.kind, found.schedule.times) == (4, "times_a_day", 4)
    assert found.daily_total == 16


def test_the_hook_waits_until_there_is_no_lag() -> None:
    """Guideline of 2018, scribd 534801421: only where there is no MCP extension lag."""
    hook = phase("early-controlled-active", "controlled_active").exercise("hook")
    assert hook is not None
    assert hook.held_until_release


def test_controlled_active_splint_is_worn_for_4_weeks() -> None:
    """Guideline of 2018, scribd 534801421: worn continuously for 4 weeks."""
    assert phase("early-controlled-active", "controlled_active").wear.comes_off == ()
    assert phase("early-controlled-active", "exercise_free").earliest_day == 28


@pytest.mark.parametrize("key", ["static-then-dynamic", "early-controlled-active"])
def test_strengthening_begins_at_8_weeks(key: str) -> None:
    """e-hand.com/thr/thr065.htm and thr066.htm: strengthening from 8 weeks, day 56."""
    assert phase(key, "loading").earliest_day == 56
    assert Limits().resistance_from == 56


def test_the_removal_day_of_several_tendons_is_empty_with_both_figures_beside_it() -> None:
    """6 weeks: PMC3293224; 3 weeks: common practice, no source."""
    beside = document("static-several-tendons")["beside"]["phases.2.earliest_day"]
    assert phase("static-several-tendons", "finger_motion").earliest_day is None
    assert beside[1:] == ["6 weeks, PMC3293224", f"3 weeks, {COMMON}"]


def test_after_a_static_regime_the_slab_is_off_at_3_weeks_at_the_earliest_common_practice() -> None:
    """Common practice, no source: then active movement with scar massage."""
    assert Limits().slab_off == 21
    motions = {e.motion for e in phase("static-several-tendons", "finger_motion").exercises}
    assert motions == {"active", "scar_massage"}


def test_a_yoke_on_index_with_long_is_refused() -> None:
    """handtherapyacademy.com, summary of Howell, Merritt, Robinson 2005 JHT 18:182."""
    body = document("blank-frame")["body"]
    body["phases"][1]["splint"] = {"worn": "yoke", "words": "A yoke.", "holds": ["index", "middle"]}
    found = check(parse(body), None, None, {})
    assert [(f.rule, f.severity) for f in found] == [("yoke", "refuse")]


def test_thumb_early_dynamic_is_4_to_6_times_a_day() -> None:
    """e-hand.com/thr/thr069.htm."""
    assert Limits().thumb_dynamic_a_day == 6


def test_dose_differs_between_the_shipped_regimes_by_nine_times_or_more() -> None:
    """16 a day against at least 100 a day hourly: guideline of 2018 and common practice."""
    hourly = phase("static-then-dynamic", "dynamic").leads
    few = phase("early-controlled-active", "controlled_active").leads
    assert hourly is not None
    assert few is not None
    assert (hourly.daily_total or 0) >= 100
    assert few.daily_total == 16


@pytest.mark.parametrize("key", KEYS)
def test_every_figure_a_template_carries_names_a_source_or_that_it_has_none(key: str) -> None:
    shipped = document(key)
    assert sorted(shipped["sources"]) == sorted(_figures(shipped["body"]))
    assert all(text.strip() for text in shipped["sources"].values())


def _figures(body: dict[str, Any]) -> list[str]:
    """The path of everything in a body that is a figure."""
    found = []
    for number, each in enumerate(body["phases"]):
        at = f"phases.{number}"
        if each["earliest_day"] is not None:
            found.append(f"{at}.earliest_day")
        if each["flexion_limits"]:
            found.append(f"{at}.flexion_limits")
        found += [f"{at}.positions.{n}" for n in range(len(each["positions"]))]
        for n, exercise in enumerate(each["exercises"]):
            names = ["dose", "schedule"] + ["daily_total"] * (exercise["daily_total"] is not None)
            found += [f"{at}.exercises.{n}.{name}" for name in names]
    return found


def test_the_blank_frame_prefills_nothing_but_cautions() -> None:
    for each in regime("blank-frame").phases:
        assert (each.positions, each.exercises, each.splint.words) == ((), (), "")
        assert each.cautions


def test_the_dynamic_template_fits_an_extensor_repair_in_zone_vi() -> None:
    from_letter = RepairFacts(date(2026, 3, 2), "right", (Repair("EDC", "VI", "middle"),))
    model = regime("static-then-dynamic")
    assert [f for f in check(model, model, from_letter, {}) if f.blocks] == []
