"""What a regime may treat, and who may move early."""

import pytest

from homeprog.domain.regime import Reason, Repair, blocking
from tests.domain.regime_cases import (
    ECRB_VII,
    EDC_MIDDLE_VI,
    EDC_MIDDLE_VII,
    TEMPLATES,
    body,
    exercise,
    facts,
    found,
    rules,
    set_at,
)

SPOKEN = Reason("Strong repair", surgeon="Dr Example", how="spoken")


@pytest.mark.parametrize("key", TEMPLATES)
def test_a_shipped_template_has_no_findings(key: str) -> None:
    assert found(body(key)) == []


def test_a_repair_in_zone_vi_fits_the_dynamic_template() -> None:
    assert blocking(found(body(), facts())) == []


def test_a_repair_in_a_zone_the_template_does_not_list_is_refused() -> None:
    findings = found(body(), facts(EDC_MIDDLE_VII))
    assert ("scope", "zones") in rules(blocking(findings), "refuse")


def test_adding_a_zone_to_what_the_template_lists_is_refused() -> None:
    target = set_at(body(), "zones", ["V", "VI", "VII"])
    assert ("scope", "zones") in rules(found(target), "refuse")


def test_a_structure_outside_is_refused() -> None:
    findings = found(body(), facts(Repair("EPL", "VI", "thumb")))
    assert rules(findings, "refuse") >= {("scope", "structures"), ("scope", "digits")}


def test_an_exercise_of_a_digit_outside_is_refused() -> None:
    target = set_at(body(), "phases.2.exercises.0.digits", ["index", "thumb"])
    assert ("scope", "phases.2.exercises.0.digits") in rules(found(target), "refuse")


def test_an_exercise_of_a_joint_outside_is_refused() -> None:
    target = set_at(body(), "phases.2.exercises.0.joints", ["MCP", "forearm"])
    assert ("scope", "phases.2.exercises.0.joints") in rules(found(target), "refuse")


def test_a_joint_the_digit_does_not_have_is_refused() -> None:
    target = body("static-several-tendons")
    set_at(target, "phases.2.exercises.0.digits", ["thumb"])
    set_at(target, "phases.2.exercises.0.joints", ["PIP"])
    assert ("scope", "phases.2.exercises.0.joints") in rules(found(target), "refuse")


@pytest.mark.parametrize("zone", ["I", "II", "III", "IV", "VIII", "IX", "TI", "TII"])
def test_shipped_early_motion_outside_zones_v_to_vii_and_t_iii_to_v_is_refused(zone: str) -> None:
    target = set_at(body(), "zones", ["V", "VI", zone])
    assert ("no_shipped_motion", "phases.2.exercises") in rules(found(target), "refuse")


@pytest.mark.parametrize("wound", ["bite", "transfer", "tendon_graft", "crush", "flexor"])
def test_shipped_early_motion_is_refused_with_a_wound_it_is_not_for(wound: str) -> None:
    findings = found(body(), facts(with_it=frozenset({wound})))
    assert ("no_shipped_motion", "phases.2.exercises") in rules(findings, "refuse")


def test_a_bite_among_what_weakens_the_repair_counts_too() -> None:
    findings = found(body(), facts(weakens=frozenset({"bite"})))
    assert ("no_shipped_motion", "phases.2.exercises") in rules(findings, "refuse")


def test_early_motion_of_wrist_extensors_alone_is_refused() -> None:
    target = set_at(body(), "structures", ["ECRB"])
    findings = found(target, facts(Repair("ECRB", "VI")))
    assert ("no_shipped_motion", "phases.2.exercises") in rules(findings, "refuse")


def test_early_motion_of_a_sagittal_band_is_refused() -> None:
    findings = found(body(), facts(Repair("sagittal_band", "V", "middle")))
    assert ("no_shipped_motion", "phases.2.exercises") in rules(findings, "refuse")


def test_static_first_is_no_early_motion_so_a_bite_may_have_it() -> None:
    target = set_at(body("static-several-tendons"), "phases.2.earliest_day", 28)
    findings = found(target, facts(with_it=frozenset({"bite"})))
    assert blocking(findings) == []


def test_in_a_blank_frame_early_motion_of_zone_iii_needs_a_surgeons_reason() -> None:
    target = set_at(body("blank-frame"), "phases.1.earliest_day", 7)
    set_at(target, "phases.1.exercises", [exercise()])
    about = facts(Repair("central_slip", "III", "middle"))
    assert ("no_shipped_motion", "surgeon_reason") in {
        (f.rule, f.severity) for f in blocking(found(target, about))
    }
    reasons = {"no_shipped_motion": SPOKEN}
    assert "no_shipped_motion" not in {
        f.rule for f in blocking(found(target, about, reasons=reasons))
    }


@pytest.mark.parametrize("who", [{"age_group": "under_12"}, {"follows_plan": "no"}])
def test_early_motion_needs_a_surgeons_reason_under_12_or_without_understanding(
    who: dict[str, str],
) -> None:
    findings = found(body(), facts(**who))
    assert [f.rule for f in blocking(findings)] == ["early_motion_who"]
    assert blocking(found(body(), facts(**who), reasons={"early_motion_who": SPOKEN})) == []


def test_a_reason_without_a_surgeon_is_no_surgeons_reason() -> None:
    reasons = {"early_motion_who": Reason("Because", surgeon="Dr Example")}
    assert blocking(found(body(), facts(age_group="under_12"), reasons=reasons)) != []


def test_a_child_may_have_a_static_regime() -> None:
    target = set_at(body("static-several-tendons"), "phases.2.earliest_day", 28)
    assert blocking(found(target, facts(age_group="under_12"))) == []


def test_a_wired_joint_refuses_motion() -> None:
    about = facts(Repair("EDC", "VI", "middle", wired=("MCP",)))
    assert ("wired_joint", "phases.2.exercises.0.joints") in rules(found(body(), about), "refuse")


def test_a_wired_joint_of_another_digit_refuses_nothing() -> None:
    target = set_at(body(), "phases.2.exercises.0.digits", ["index"])
    about = facts(Repair("EDC", "VI", "middle", wired=("MCP",)))
    assert ("wired_joint", "phases.2.exercises.0.joints") not in rules(found(target, about))


def test_a_leading_exercise_that_leaves_the_repair_at_rest_is_refused() -> None:
    target = set_at(body(), "phases.1.leading", "shoulder")
    assert ("leading", "phases.1.leading") in rules(found(target), "refuse")


def test_a_repaired_digit_outside_the_leading_exercise_is_warned_of() -> None:
    target = set_at(body(), "phases.2.exercises.0.digits", ["index"])
    assert ("leading", "phases.2.leading") in rules(found(target, facts()), "warn")


def test_in_zone_ix_the_elbow_moves_only_with_a_surgeons_reason() -> None:
    target = set_at(body("blank-frame"), "phases.0.exercises", [
        exercise(key="elbow", motion="free_joint", digits=[], joints=["elbow"])
    ])  # fmt: skip
    about = facts(Repair("muscle_belly", "IX", "middle"))
    assert ("elbow_zone_ix", "phases.0.exercises.0.joints") in rules(
        found(target, about), "surgeon_reason"
    )


def test_of_several_repairs_the_longest_protection_is_named_joint_by_joint() -> None:
    target = set_at(body("static-several-tendons"), "phases.2.earliest_day", 28)
    about = facts(EDC_MIDDLE_VI, Repair("ECRB", "VI"))
    words = [f.message for f in found(target, about) if f.rule == "longest_protection"]
    assert words == [
        "Wrist: protected until day 42 (ECRB, zone VI).",
        "Middle MCP: protected until day 21 (EDC middle, zone VI).",
    ]


def test_a_day_the_surgeon_gives_outlasts_any_number() -> None:
    target = set_at(body("static-several-tendons"), "phases.2.earliest_day", 28)
    findings = found(target, facts(Repair("ECU", "VI"), ECRB_VII))
    words = [f.message for f in findings if f.rule == "longest_protection"]
    assert words == ["Wrist: protected until the surgeon's day (ECRB, zone VII)."]
