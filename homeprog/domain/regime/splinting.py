"""How the hand is held: flexion stops, the band, the yoke, and words about the splint."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..course import Digit
from .body import Exercise, Phase
from .case import Case, before
from .finding import Finding

MEMORY = "from memory"
YOKE = "handtherapyacademy.com, summary of Howell, Merritt, Robinson 2005 JHT 18:182"
YOKE_PAIRS: tuple[frozenset[Digit], ...] = (
    frozenset({"index", "middle"}),
    frozenset({"ring", "small"}),
)
AGAINST_BAND = "active_flexion_against_band"
# Deliberately wide: a step that only looks like 'take the splint off' is refused too.
SPLINT_OFF = re.compile(
    r"\boff\b|\bremov\w*|\bundo\w*|\bunstrap\w*|\bloosen\w*|\bout of (the|your)\b"
    r"|\bwithout (the|your|a) (splint|slab|plaster|yoke|sling|straps?)\b",
    re.IGNORECASE,
)
BAND_LIFTS = re.compile(r"\bband (will |to )?(lifts?|pulls?)\b", re.IGNORECASE)
LIFT = re.compile(r"\blift\w*", re.IGNORECASE)


def splint_findings(case: Case) -> Iterator[Finding]:
    """Every finding on splint, band and wording."""
    for path, phase in case.phases():
        yield from _yoke(case, path, phase)
        yield from _band(path, phase)
        if case.facts is not None:
            yield from _words_missing(path, phase)
    for path, phase, exercise in case.exercises():
        if exercise.motion == AGAINST_BAND:
            yield from _against_band(case, path, phase, exercise)
        yield from _steps(path, phase, exercise)


def reads_as_splint_off(words: str) -> bool:
    """Whether words can be read as 'take the splint off'."""
    return bool(SPLINT_OFF.search(words))


def _yoke(case: Case, path: str, phase: Phase) -> Iterator[Finding]:
    if phase.splint.worn != "yoke":
        return
    held = set(phase.splint.holds)
    field = f"{path}.splint.holds"
    if not held and case.facts is not None:
        yield Finding(field, "Name the digits the yoke holds straighter.", "refuse", "yoke")
    if len(held) > 2:
        message = "A yoke holds one or two digits, not three or four."
        yield Finding(field, message, "refuse", "yoke", YOKE)
    for pair in YOKE_PAIRS:
        if held == pair:
            message = f"A yoke does not hold {' with '.join(sorted(pair))}."
            yield Finding(field, message, "refuse", "yoke", YOKE)


def _band(path: str, phase: Phase) -> Iterator[Finding]:
    band = phase.band
    if band is None:
        if phase.check.band_lifts:
            message = "There is no band in this phase to ask about."
            yield Finding(f"{path}.check.band_lifts", message, "refuse", "band")
        return
    if not band.joints:
        yield Finding(f"{path}.band.joints", "State the joints it holds.", "refuse", "band")
    for field, when in (("broken_by_day", "day"), ("broken_by_night", "night")):
        if not getattr(band, field).strip():
            message = f"Say what to do when the band breaks by {when}."
            yield Finding(f"{path}.band.{field}", message, "refuse", "band")
    if not phase.check.band_lifts:
        message = "Ask each day whether the band lifts the finger right up."
        yield Finding(f"{path}.check.band_lifts", message, "refuse", "band")


def _words_missing(path: str, phase: Phase) -> Iterator[Finding]:
    for field, there in (
        ("splint.words", phase.splint.words.strip()),
        ("wear.words", phase.wear.words.strip()),
        ("cautions", phase.cautions),
    ):
        if not there:
            message = "The patient reads this: it must not be empty."
            yield Finding(f"{path}.{field}", message, "refuse", "words_missing")


def _against_band(case: Case, path: str, phase: Phase, exercise: Exercise) -> Iterator[Finding]:
    phase_path = path.split(".exercises")[0]
    if phase.band is None:
        yield Finding(f"{phase_path}.band", "State the band and its joints.", "refuse", "band")
    if not before(phase, case.limits.flexion_never_until):
        return
    if not wrist_held_in_extension(phase):
        message = "Bending against a band needs the wrist held in extension."
        yield Finding(f"{phase_path}.positions", message, "refuse", "wrist_extension", MEMORY)
    for digit in exercise.digits:
        field = f"{phase_path}.flexion_limits.{digit}"
        yield from _stop(case, field, phase, digit)


def _stop(case: Case, field: str, phase: Phase, digit: Digit) -> Iterator[Finding]:
    limits = case.limits
    usual, here = limits.flexion_stops.get(digit), phase.limits.get(digit)
    early = before(phase, limits.flexion_stop_until)
    if here is not None and here >= limits.flexion_never:
        message = f"A stop of {here} degrees is too far before day {limits.flexion_never_until}."
        yield Finding(field, message, "refuse", "flexion_stop", MEMORY)
    elif usual is not None and here is None and early:
        message = "Say how far it may bend: until then there is no stop."
        yield Finding(field, message, "refuse", "flexion_stop", MEMORY)
    elif usual is not None and here is not None and here > usual and early:
        message = f"Over {usual} degrees before day {limits.flexion_stop_until}."
        yield Finding(field, message, "surgeon_reason", "flexion_stop_wide", MEMORY)


def wrist_held_in_extension(phase: Phase) -> bool:
    """Whether the phase holds the wrist still, at an angle of extension."""
    return any(p.joint == "wrist" and not p.moves and p.span[1] < 0 for p in phase.positions)


def _steps(path: str, phase: Phase, exercise: Exercise) -> Iterator[Finding]:
    for number, step in enumerate(exercise.steps):
        field = f"{path}.steps.{number}"
        if reads_as_splint_off(step):
            message = "Can be read as 'take the splint off'."
            yield Finding(field, message, "refuse", "splint_off_words")
        if exercise.motion == AGAINST_BAND and LIFT.search(BAND_LIFTS.sub("", step)):
            message = "The band lifts, not the patient: 'relax, let the band lift'."
            yield Finding(field, message, "refuse", "lift_words")
    if reads_as_splint_off(exercise.name):
        message = "Can be read as 'take the splint off'."
        yield Finding(f"{path}.name", message, "refuse", "splint_off_words")
    worn = phase.splint.worn is not None and "for_exercise" not in phase.wear.comes_off
    if worn and phase.wear.by_day and reads_as_splint_off(exercise.with_splint):
        message = "In this phase the splint stays on for exercise."
        yield Finding(f"{path}.with_splint", message, "refuse", "splint_off_words")
