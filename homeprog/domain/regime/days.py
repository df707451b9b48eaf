"""When: phase 0, the order of phases, the day a splint may come off, load and wrist by day."""

from __future__ import annotations

from collections.abc import Iterator

from .body import Phase, Position
from .case import Case, before
from .finding import Finding, Severity

E_HAND = "e-hand.com/thr"
MEMORY = "from memory"
COMMON = "common practice, no source"


def day_findings(case: Case) -> Iterator[Finding]:
    """Every finding on days."""
    yield from _phase_zero(case)
    yield from _order(case)
    yield from _earlier_than_template(case)
    yield from _removal(case)
    yield from _resistance(case)
    yield from _combined_flexion(case)
    yield from _wrist(case)


def lets_splint_off(phase: Phase) -> bool:
    """Whether the splint may stay away for a time: washing with the hand held flat does not."""
    freed = bool({"for_exercise", "at_rest"} & set(phase.wear.comes_off))
    return phase.splint.worn is None or not phase.wear.by_day or not phase.wear.by_night or freed


def _phase_zero(case: Case) -> Iterator[Finding]:
    zero = case.regime.phase_zero
    if zero.earliest_day != 0:
        yield Finding("phases.0.earliest_day", "Phase 0 begins on day 0.", "refuse", "phase_zero")
    if zero.leading or any(each.moves_repair for each in zero.exercises):
        message = "Phase 0 needs no release, so it must leave the repair at rest."
        yield Finding("phases.0.exercises", message, "refuse", "phase_zero")
    for path, phase in list(case.phases())[1:]:
        if not phase.gated:
            message = "Only a clinician's release may begin this phase."
            yield Finding(f"{path}.gated", message, "refuse", "gate")


def _order(case: Case) -> Iterator[Finding]:
    last = 0
    for path, phase in case.phases():
        if phase.earliest_day is None:
            if case.facts is not None:
                message = "Enter the day the surgeon gives."
                yield Finding(f"{path}.earliest_day", message, "refuse", "day_missing")
            continue
        if phase.earliest_day < last:
            message = f"Must not be before day {last}, the phase before it."
            yield Finding(f"{path}.earliest_day", message, "refuse", "order")
        last = max(last, phase.earliest_day)


def _earlier_than_template(case: Case) -> Iterator[Finding]:
    for path, phase in case.phases():
        model = case.template.phase(phase.key) if case.template else None
        if model and model.earliest_day is not None and before(phase, model.earliest_day):
            message = f"The template has day {model.earliest_day} at the earliest."
            yield Finding(
                f"{path}.earliest_day", message, "surgeon_reason", "earlier_than_template"
            )


def _removal(case: Case) -> Iterator[Finding]:
    """Nothing shipped names a removal day in zones VII to IX; for a patient the surgeon does."""
    freeing = [(path, phase) for path, phase in case.phases() if lets_splint_off(phase)]
    yield from _too_early(case, freeing)
    surgeons = sorted(case.zones & case.limits.surgeon_removal_zones)
    cut = case.facts is not None and case.facts.all_cut_in_part
    for path, phase in freeing[:1]:
        if phase.earliest_day is None or not (surgeons or cut):
            continue
        if case.free and not case.facts:
            continue
        why = "a tendon cut in part" if cut else f"zone {', '.join(surgeons)}"
        message = f"The surgeon sets the day the splint may come off: {why}."
        severity: Severity = "surgeon_reason" if case.facts else "refuse"
        yield Finding(f"{path}.earliest_day", message, severity, "removal_day")


def _too_early(case: Case, freeing: list[tuple[str, Phase]]) -> Iterator[Finding]:
    """Day 21 binds unless every repair is of a tendon cut in part."""
    if case.facts and case.facts.all_cut_in_part:
        return
    day = case.limits.slab_off
    for path, phase in freeing:
        if before(phase, day):
            message = f"The splint may not come off before day {day}."
            yield Finding(f"{path}.earliest_day", message, "refuse", "slab_off", COMMON)


def _resistance(case: Case) -> Iterator[Finding]:
    day, source, fracture = case.limits.resistance_from, E_HAND, False
    if case.facts:
        fracture = "fracture" in case.facts.with_it
        if _heals_late(case):
            day, source = case.limits.resistance_late_from, MEMORY
    for path, phase, exercise in case.exercises():
        if exercise.motion != "resistance":
            continue
        if before(phase, day):
            message = f"Resistance before day {day}."
            yield Finding(f"{path}.motion", message, "warn", "resistance", source)
        if fracture:
            message = "A fracture: load waits until the surgeon frees it."
            yield Finding(f"{path}.motion", message, "surgeon_reason", "fracture_load")


def _heals_late(case: Case) -> bool:
    assert case.facts is not None
    late = {"transfer", "tendon_graft"} & case.facts.with_it
    return bool(late) or "inflammatory_arthritis" in case.facts.weakens


def _combined_flexion(case: Case) -> Iterator[Finding]:
    day = case.limits.combined_flexion_from
    for path, phase, exercise in case.exercises():
        if exercise.motion == "combined_flexion" and before(phase, day):
            message = f"Wrist and fingers bend together before day {day}."
            yield Finding(f"{path}.motion", message, "warn", "combined_flexion", MEMORY)


def _wrist(case: Case) -> Iterator[Finding]:
    day = case.limits.wrist_flexion_from
    extensor = case.facts is not None and case.facts.wrist_extensor
    for path, phase in case.phases():
        if not before(phase, day):
            continue
        for number, position in enumerate(phase.positions):
            yield from _wrist_position(f"{path}.positions.{number}", position, day, extensor)
        if extensor and _wrist_unbounded(phase):
            message = "Say how far the wrist may move: a wrist extensor was repaired."
            yield Finding(f"{path}.positions", message, "refuse", "wrist_range")


def _wrist_position(path: str, position: Position, day: int, extensor: bool) -> Iterator[Finding]:
    if position.joint != "wrist" or position.span[1] <= 0:
        return
    if not position.moves:
        message = f"A wrist resting in flexion before day {day}."
        yield Finding(path, message, "surgeon_reason", "wrist_flexion", MEMORY)
    elif extensor:
        message = f"A wrist extensor was repaired: not past neutral before day {day}."
        yield Finding(path, message, "surgeon_reason", "wrist_past_neutral", MEMORY)


def _wrist_unbounded(phase: Phase) -> bool:
    moves = any(e.motion in ("wrist_active", "combined_flexion") for e in phase.exercises)
    return moves and not any(p.joint == "wrist" and p.moves for p in phase.positions)
