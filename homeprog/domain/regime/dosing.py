"""How much and how often: daily totals, gaps between slots, scar massage."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from .body import Exercise, Phase
from .case import Case, before
from .dose import Schedule
from .finding import Finding

MEMORY = "from memory"
THUMB = "e-hand.com/thr/thr069.htm"


def dosing_findings(case: Case) -> Iterator[Finding]:
    """Every finding on dose and schedule."""
    for path, phase, exercise in case.exercises():
        yield from _gap(case, path, exercise)
        yield from _total(case, path, phase, exercise)
        yield from _thumb(case, path, phase, exercise)
        yield from _scar(case, path, phase, exercise)


def daily_amount(case: Case, exercise: Exercise) -> int:
    """What is prescribed on the day with most slots, in the dose's unit."""
    return exercise.dose.amount * case.slots_a_day(exercise.schedule)


def shortest_gap(schedule: Schedule, waking: int) -> float:
    """Minutes between the starts of two neighbouring slots, the shortest of the day."""
    if schedule.kind == "every":
        return schedule.every
    if schedule.kind == "times_a_day":
        return waking / schedule.times
    minutes = [at.hour * 60 + at.minute for at in schedule.at]
    return min((b - a for a, b in pairwise(minutes)), default=waking)


def _gap(case: Case, path: str, exercise: Exercise) -> Iterator[Finding]:
    least = case.limits.slot_gap
    if any(shortest_gap(exercise.schedule, day) < least for day in case.waking_minutes):
        message = f"Goes at one exercise must be at least {least} minutes apart."
        yield Finding(f"{path}.schedule", message, "refuse", "slot_gap")
    if case.slots_a_day(exercise.schedule) == 0:
        message = "The waking hours are too short for this: it would never be due."
        yield Finding(f"{path}.schedule", message, "refuse", "never_due")


def _total(case: Case, path: str, phase: Phase, exercise: Exercise) -> Iterator[Finding]:
    usual = _usual(case, phase, exercise)
    if usual is None:
        if case.template is not None and not case.free and exercise.moves_repair:
            message = "The template has no such exercise in this phase."
            yield Finding(path, message, "surgeon_reason", "not_in_template")
        return
    today, limits = daily_amount(case, exercise), case.limits
    message = f"{today} a day; the template means {usual}."
    if today > limits.refuse_over * usual:
        yield Finding(f"{path}.dose", message, "refuse", "daily_total")
    elif today > limits.reason_over * usual:
        yield Finding(f"{path}.dose", message, "reason", "daily_total")


def _usual(case: Case, phase: Phase, exercise: Exercise) -> int | None:
    """The daily total the template carries, else what its own schedule comes to."""
    if case.template is None:
        return exercise.daily_total
    model = case.template.phase(phase.key)
    found = model.exercise(exercise.key) if model else None
    if found is None or found.dose.unit != exercise.dose.unit:
        return exercise.daily_total if case.free else None
    return found.daily_total or daily_amount(case, found)


def _thumb(case: Case, path: str, phase: Phase, exercise: Exercise) -> Iterator[Finding]:
    band = exercise.motion == "active_flexion_against_band" and "thumb" in exercise.digits
    most = case.limits.thumb_dynamic_a_day
    early = before(phase, case.limits.thumb_dynamic_until)
    if band and early and case.slots_a_day(exercise.schedule) > most:
        message = f"Early motion of the thumb against a band: over {most} times a day."
        yield Finding(f"{path}.schedule", message, "surgeon_reason", "thumb_dynamic", THUMB)


def _scar(case: Case, path: str, phase: Phase, exercise: Exercise) -> Iterator[Finding]:
    if exercise.motion != "scar_massage":
        return
    limits = case.limits
    least, most = limits.scar_massage_a_day
    usual = least <= case.slots_a_day(exercise.schedule) <= most
    if not usual or (exercise.dose.amount, exercise.dose.unit) != (
        limits.scar_massage_minutes,
        "minutes",
    ):
        message = f"Scar massage: {least} to {most} times a day, {limits.scar_massage_minutes} min."
        yield Finding(f"{path}.dose", message, "warn", "scar_massage", MEMORY)
    if before(phase, limits.scar_massage_from) and not exercise.held_until_release:
        message = "Scar massage waits for a closed wound with the stitches out."
        yield Finding(f"{path}.motion", message, "warn", "scar_massage_early", MEMORY)
    if case.facts and "flap_or_graft" in case.facts.with_it:
        message = "No scar massage on a flap or graft until the surgeon says so."
        yield Finding(f"{path}.motion", message, "surgeon_reason", "scar_massage_flap", MEMORY)
