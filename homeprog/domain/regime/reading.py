"""JSON to a regime: everything that cannot be meant is refused, all at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import get_args

from ..course import DIGITS, JOINTS, STRUCTURES, WORN, ZONES, Digit
from ..errors import Invalid
from .body import (
    COMES_OFF,
    DIRECTIONS,
    MOTIONS,
    SCHEMA,
    Angle,
    Band,
    CheckQuestions,
    Exercise,
    Phase,
    Position,
    Regime,
    Rehearsal,
    Splint,
    Wear,
)
from .dose import Dose, Schedule, ScheduleKind, Unit
from .limits import Limits
from .reader import Faults, Reader

MOST_A_DAY = 48  # slots a day that can still be meant
LONGEST = 24 * 60  # minutes
LAST_DAY = 730  # post-operative day
MOST_AMOUNT = 500  # times or minutes in one slot
MOST_DEGREES = Limits().degrees_most

REGIME = ("schema", "template", "name", "zones", "structures", "digits", "joints", "phases")
PHASE = (
    "key", "name", "earliest_day", "gated", "splint", "wear", "positions", "exercises", "leading",
    "flexion_limits", "band", "cautions", "forbidden", "check", "rehearsal",
)  # fmt: skip
EXERCISE = (
    "key", "name", "steps", "dose", "schedule", "motion", "digits", "joints", "with_splint",
    "held_until_release", "daily_total",
)  # fmt: skip
CHECK = ("active_extension_allowed", "band_lifts", "after_dressing")


def parse(body: object) -> Regime:
    """The regime a body means; raises Invalid with every fault under its field path."""
    faults = Faults()
    regime = _regime(Reader(body, "", faults, REGIME))
    _keys(regime, faults)
    if faults.fields:
        raise Invalid("regime_invalid", "Some fields of the regime cannot be meant.", faults.fields)
    return regime


def _regime(read: Reader) -> Regime:
    if read.body.get("schema") != SCHEMA:
        read.fault("schema", f"Must be {SCHEMA}.")
    phases = read.each("phases", _phase)
    if not phases:
        read.fault("phases", "Phase 0 must be there.")
    return Regime(
        name=read.text("name", needed=True),
        zones=read.choices("zones", ZONES),
        structures=read.choices("structures", STRUCTURES),
        digits=read.choices("digits", DIGITS),
        joints=read.choices("joints", JOINTS),
        phases=phases,
        template=read.text("template") if read.body.get("template") is not None else None,
    )


def _phase(value: object, path: str, faults: Faults) -> Phase:
    read = Reader(value, path, faults, PHASE)
    return Phase(
        key=read.text("key", needed=True),
        name=read.text("name", needed=True),
        earliest_day=read.number_or_none("earliest_day", 0, LAST_DAY),
        splint=_splint(read.body.get("splint"), read.at("splint"), faults),
        wear=_wear(read.body.get("wear"), read.at("wear"), faults),
        positions=read.each("positions", _position),
        exercises=read.each("exercises", _exercise),
        leading=read.text("leading", needed=True) if read.body.get("leading") is not None else None,
        flexion_limits=_flexion_limits(read),
        band=None if read.body.get("band") is None else _band(read),
        cautions=read.texts("cautions"),
        forbidden=read.texts("forbidden"),
        check=_check(read.body.get("check", {}), read.at("check"), faults),
        rehearsal=None if read.body.get("rehearsal") is None else _rehearsal(read),
        gated=read.flag("gated", True),
    )


def _splint(value: object, path: str, faults: Faults) -> Splint:
    read = Reader(value, path, faults, ("worn", "words", "holds"))
    worn = None if read.body.get("worn") is None else read.choice("worn", WORN)
    return Splint(worn, read.text("words"), read.choices("holds", DIGITS))


def _wear(value: object, path: str, faults: Faults) -> Wear:
    read = Reader(value, path, faults, ("by_day", "by_night", "outdoors", "comes_off", "words"))
    return Wear(
        by_day=read.flag("by_day", True),
        by_night=read.flag("by_night", True),
        outdoors=read.flag("outdoors", True),
        comes_off=read.choices("comes_off", COMES_OFF),
        words=read.text("words"),
    )


def _position(value: object, path: str, faults: Faults) -> Position:
    read = Reader(value, path, faults, ("joint", "digits", "from", "to", "moves"))
    return Position(
        joint=read.choice("joint", JOINTS),
        digits=read.choices("digits", DIGITS),
        start=_angle(read.body.get("from"), read.at("from"), faults),
        end=_angle(read.body.get("to"), read.at("to"), faults),
        moves=read.flag("moves", False),
    )


def _angle(value: object, path: str, faults: Faults) -> Angle:
    read = Reader(value, path, faults, ("degrees", "direction"))
    return Angle(read.number("degrees", 0, MOST_DEGREES), read.choice("direction", DIRECTIONS))


def _exercise(value: object, path: str, faults: Faults) -> Exercise:
    read = Reader(value, path, faults, EXERCISE)
    steps = read.texts("steps")
    if not steps:
        read.fault("steps", "Say what to do, step by step.")
    return Exercise(
        key=read.text("key", needed=True),
        name=read.text("name", needed=True),
        steps=steps,
        dose=_dose(read.body.get("dose"), read.at("dose"), faults),
        schedule=_schedule(read.body.get("schedule"), read.at("schedule"), faults),
        motion=read.choice("motion", MOTIONS),
        digits=read.choices("digits", DIGITS),
        joints=read.choices("joints", JOINTS),
        with_splint=read.text("with_splint"),
        held_until_release=read.flag("held_until_release", False),
        daily_total=read.number_or_none("daily_total", 1, MOST_AMOUNT * MOST_A_DAY),
    )


def _dose(value: object, path: str, faults: Faults) -> Dose:
    read = Reader(value, path, faults, ("amount", "unit"))
    units: Sequence[Unit] = get_args(Unit)
    return Dose(read.number("amount", 1, MOST_AMOUNT), read.choice("unit", units))


def _schedule(value: object, path: str, faults: Faults) -> Schedule:
    read = Reader(value, path, faults, ("kind", "every", "times", "at"))
    kinds: Sequence[ScheduleKind] = get_args(ScheduleKind)
    kind = read.choice("kind", kinds)
    if kind == "every":
        return Schedule("every", every=read.number("every", 1, LONGEST))
    if kind == "times_a_day":
        return Schedule("times_a_day", times=read.number("times", 1, MOST_A_DAY))
    return Schedule("at", at=read.times("at"))


def _flexion_limits(parent: Reader) -> dict[Digit, int]:
    given = parent.body.get("flexion_limits", {})
    read = Reader(given, parent.at("flexion_limits"), parent.faults, DIGITS)
    return {digit: read.number(digit, 0, MOST_DEGREES) for digit in DIGITS if digit in read.body}


def _band(parent: Reader) -> Band:
    fields = ("joints", "digits", "broken_by_day", "broken_by_night")
    read = Reader(parent.body["band"], parent.at("band"), parent.faults, fields)
    return Band(
        joints=read.choices("joints", JOINTS),
        digits=read.choices("digits", DIGITS),
        broken_by_day=read.text("broken_by_day"),
        broken_by_night=read.text("broken_by_night"),
    )


def _check(value: object, path: str, faults: Faults) -> CheckQuestions:
    read = Reader(value, path, faults, CHECK)
    return CheckQuestions(*(read.flag(name, False) for name in CHECK))


def _rehearsal(parent: Reader) -> Rehearsal:
    fields = ("key", "name", "steps", "schedule")
    read = Reader(parent.body["rehearsal"], parent.at("rehearsal"), parent.faults, fields)
    return Rehearsal(
        key=read.text("key", needed=True),
        name=read.text("name", needed=True),
        steps=read.texts("steps"),
        schedule=_schedule(read.body.get("schedule"), read.at("schedule"), read.faults),
    )


def _keys(regime: Regime, faults: Faults) -> None:
    """Keys name one thing each, and a leading exercise is there."""
    _twice((phase.key for phase in regime.phases), "phases", faults)
    for number, phase in enumerate(regime.phases):
        path = f"phases.{number}"
        _twice((each.key for each in phase.exercises), f"{path}.exercises", faults)
        if phase.leading and phase.leads is None:
            faults.add(f"{path}.leading", f"No exercise '{phase.leading}' in this phase.")
        _rehearsal_apart(regime, phase, path, faults)


def _rehearsal_apart(regime: Regime, phase: Phase, path: str, faults: Faults) -> None:
    """A rehearsal is kept apart from every exercise, and from every stage that counts one."""
    rehearsal = phase.rehearsal
    if rehearsal is None:
        return
    if any(each.exercise(rehearsal.key) for each in regime.phases):
        faults.add(f"{path}.rehearsal.key", f"'{rehearsal.key}' is an exercise.")
    if phase.leading is not None:
        faults.add(f"{path}.rehearsal", "Only a stage without a leading exercise rehearses.")


def _twice(keys: Iterable[str], path: str, faults: Faults) -> None:
    seen: set[str] = set()
    for number, key in enumerate(keys):
        if key and key in seen:
            faults.add(f"{path}.{number}.key", f"The key '{key}' stands here twice.")
        seen.add(key)
