"""What a regime may treat: zones, structures, digits, joints, and who may move early."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..course import joints_of
from .body import Exercise
from .case import Case, early_motion
from .facts import Repair
from .finding import Finding, Severity

LIMBS: frozenset[str] = frozenset({"shoulder", "elbow", "forearm", "wrist"})


def scope_findings(case: Case) -> Iterator[Finding]:
    """Every finding on scope."""
    yield from _within_template(case)
    yield from _repairs_covered(case)
    yield from _exercises_covered(case)
    yield from _shipped_motion(case)
    yield from _who_may_move_early(case)
    yield from _wired(case)
    yield from _leading_moves_repair(case)
    yield from _elbow(case)


def _within_template(case: Case) -> Iterator[Finding]:
    if case.template is None:
        return
    for name in ("zones", "structures", "digits", "joints"):
        extra = set(getattr(case.regime, name)) - set(getattr(case.template, name))
        if extra:
            yield Finding(name, f"Not in the template: {_list(extra)}.", "refuse", "scope")


def _repairs_covered(case: Case) -> Iterator[Finding]:
    if case.facts is None:
        return
    regime = case.regime
    for field, missing in (
        ("zones", case.facts.zones - set(regime.zones)),
        ("structures", case.facts.structures - set(regime.structures)),
        ("digits", case.facts.digits - set(regime.digits)),
    ):
        if missing:
            message = f"Repaired, but this regime does not treat it: {_list(missing)}."
            yield Finding(field, message, "refuse", "scope")


def _exercises_covered(case: Case) -> Iterator[Finding]:
    for path, _, exercise in case.exercises():
        digits = set(exercise.digits) - set(case.regime.digits)
        if digits:
            message = f"This regime may not move: {_list(digits)}."
            yield Finding(f"{path}.digits", message, "refuse", "scope")
        joints = (set(exercise.joints) - set(case.regime.joints)) | _no_such_joints(exercise)
        if joints:
            message = f"This regime or digit may not move: {_list(joints)}."
            yield Finding(f"{path}.joints", message, "refuse", "scope")


def _no_such_joints(exercise: Exercise) -> set[str]:
    """Joints none of the exercising digits has."""
    there = LIMBS.union(*(joints_of(digit) for digit in exercise.digits))
    return {joint for joint in exercise.joints if joint not in there}


def _shipped_motion(case: Case) -> Iterator[Finding]:
    why = case.no_shipped_motion
    severity: Severity = "surgeon_reason" if case.free else "refuse"
    for path, _ in early_motion(case) if why else []:
        message = f"Early motion is not for {', '.join(why)}: static, or a blank frame."
        yield Finding(f"{path}.exercises", message, severity, "no_shipped_motion")


def _who_may_move_early(case: Case) -> Iterator[Finding]:
    if case.facts is None:
        return
    why = []
    if case.facts.age_group == "under_12":
        why.append("under 12")
    if case.facts.follows_plan == "no":
        why.append("cannot follow the plan")
    for path, _ in early_motion(case)[:1] if why else []:
        message = f"Early motion needs a surgeon's reason: {', '.join(why)}."
        yield Finding(f"{path}.exercises", message, "surgeon_reason", "early_motion_who")


def _wired(case: Case) -> Iterator[Finding]:
    for path, _, exercise in case.exercises():
        for repair in case.facts.repairs if case.facts else ():
            moved = set(repair.wired) & set(exercise.joints)
            if moved and _touches(exercise, repair):
                message = f"{_list(moved)} is wired or fused ({repair.words}): it must not move."
                yield Finding(f"{path}.joints", message, "refuse", "wired_joint")


def _touches(exercise: Exercise, repair: Repair) -> bool:
    return repair.digit is None or repair.digit in exercise.digits


def _leading_moves_repair(case: Case) -> Iterator[Finding]:
    for path, phase in case.phases():
        leads = phase.leads
        if leads and not leads.moves_repair:
            message = "The leading exercise must move the repair, or the phase has none."
            yield Finding(f"{path}.leading", message, "refuse", "leading")
        elif leads and case.facts and not set(leads.digits) >= case.facts.digits:
            left = case.facts.digits - set(leads.digits)
            message = f"Repaired, but not in the leading exercise: {_list(left)}."
            yield Finding(f"{path}.leading", message, "warn", "leading")


def _elbow(case: Case) -> Iterator[Finding]:
    for path, _, exercise in case.exercises() if "IX" in case.zones else ():
        if "elbow" in exercise.joints:
            message = "Zone IX near the origin: the elbow moves only if the surgeon says so."
            yield Finding(f"{path}.joints", message, "surgeon_reason", "elbow_zone_ix")


def _list(things: Iterable[str]) -> str:
    return ", ".join(sorted(thing.replace("_", " ") for thing in things))
