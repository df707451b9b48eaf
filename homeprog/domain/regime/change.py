"""What a new revision widens and what it takes back, phase by phase, in words.

A revision that widens a released phase waits for a release; it may not also take anything back:
that is saved first, as a revision of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..course import Digit, Joint
from .body import Exercise, Phase, Position, Regime
from .case import DEFAULT_WAKING, slots_a_day

NO_STOP = 999  # degrees: a digit without a stop may bend as far as it goes
Joints = dict[tuple[Joint, Digit | None], Position]


def widens(before: Phase, after: Phase) -> list[str]:
    """What `after` frees, adds or loosens, in words; empty if nothing. Truth: it must wait."""
    return list(_gains(before, after, more="more"))


def withdraws_or_limits(before: Phase, after: Phase) -> list[str]:
    """What `after` takes back or limits, in words; empty if nothing."""
    return list(_gains(after, before, more="less"))


def widened_phases(before: Regime, after: Regime) -> dict[str, list[str]]:
    """By phase key, what the new revision widens in the phases both have."""
    return _by_phase(before, after, widening=True)


def limited_phases(before: Regime, after: Regime) -> dict[str, list[str]]:
    """By phase key, what the new revision takes back in the phases both have."""
    return _by_phase(before, after, widening=False)


def withdrawn_exercises(before: Phase, after: Phase) -> frozenset[str]:
    """Keys of exercises that are gone, newly held until release, or asked for less."""
    return frozenset(
        old.key
        for old in before.exercises
        if any(_exercise_gains(after.exercise(old.key), old, "less"))
    )


def _by_phase(before: Regime, after: Regime, *, widening: bool) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for phase in after.phases:
        old = before.phase(phase.key)
        words = _compare(old, phase, widening) if old else []
        if words:
            found[phase.key] = words
    return found


def _compare(old: Phase, new: Phase, widening: bool) -> list[str]:
    return widens(old, new) if widening else withdraws_or_limits(old, new)


def _gains(less: Phase, wide: Phase, more: str) -> Iterator[str]:
    """In what `wide` goes further than `less`; `more` says in which direction it is told."""
    yield from _flexion(less, wide, more)
    yield from _positions(less, wide, more)
    yield from _wear(less, wide, more)
    yield from _splint(less, wide, more)
    for exercise in wide.exercises:
        yield from _exercise_gains(less.exercise(exercise.key), exercise, more)
    for words in less.forbidden:
        if words not in wide.forbidden:
            yield _say(more, f"no longer forbidden: {words}", f"newly forbidden: {words}")
    if wide.rehearsal and less.rehearsal != wide.rehearsal:
        yield _say(more, "rehearsal added or changed", "rehearsal withdrawn or changed")


def _say(more: str, widened: str, limited: str) -> str:
    return widened if more == "more" else limited


def _flexion(less: Phase, wide: Phase, more: str) -> Iterator[str]:
    for digit in sorted({*less.limits, *wide.limits}):
        low, high = less.limits.get(digit, NO_STOP), wide.limits.get(digit, NO_STOP)
        if high > low:
            yield _say(
                more,
                f"{digit}: flexion stop from {_degrees(low)} to {_degrees(high)}",
                f"{digit}: flexion stop from {_degrees(high)} to {_degrees(low)}",
            )


def _degrees(stop: int) -> str:
    return "none" if stop == NO_STOP else f"{stop} degrees"


def _positions(less: Phase, wide: Phase, more: str) -> Iterator[str]:
    """A joint no longer held, newly free to move, or let further either way."""
    held, freed = _by_joint(less), _by_joint(wide)
    for (joint, digit), old in held.items():
        new = freed.get((joint, digit))
        where = f"{digit} {joint}" if digit else joint
        if new is None:
            yield _say(more, f"{where}: no longer held", f"{where}: newly held")
        elif _further(old, new, more):
            yield _say(more, f"{where}: may move or rest further", f"{where}: held closer")


def _by_joint(phase: Phase) -> Joints:
    return {
        (position.joint, digit): position
        for position in phase.positions
        for digit in (position.digits or (None,))
    }


def _further(old: Position, new: Position, more: str) -> bool:
    """Whether a joint is freed, or goes beyond the angles it had.

    A splint moulded to another angle waits for a release, yet takes nothing back.
    """
    if new.moves != old.moves:
        return new.moves
    beyond = new.span[0] < old.span[0] or new.span[1] > old.span[1]
    if old.moves or more == "more":
        return beyond
    return beyond and new.span[0] <= old.span[0] and new.span[1] >= old.span[1]


def _wear(less: Phase, wide: Phase, more: str) -> Iterator[str]:
    for field, when in (("by_day", "by day"), ("by_night", "at night"), ("outdoors", "outdoors")):
        if getattr(less.wear, field) and not getattr(wide.wear, field):
            yield _say(more, f"splint no longer worn {when}", f"splint newly worn {when}")
    for reason in sorted(set(wide.wear.comes_off) - set(less.wear.comes_off)):
        words = reason.replace("_", " ")
        yield _say(more, f"splint may come off {words}", f"splint stays on {words}")


def _splint(less: Phase, wide: Phase, more: str) -> Iterator[str]:
    exchanged = more == "more" or wide.splint.worn is None  # one for another takes nothing back
    if less.splint.worn and less.splint.worn != wide.splint.worn and exchanged:
        yield _say(more, f"{less.splint.worn} taken away", f"{less.splint.worn} newly worn")
    for digit in sorted(set(less.splint.holds) - set(wide.splint.holds)):
        yield _say(more, f"{digit}: no longer in the splint", f"{digit}: newly in the splint")
    if less.band and wide.band != less.band:
        joints = set(less.band.joints) - set(wide.band.joints if wide.band else ())
        for joint in sorted(joints):
            yield _say(more, f"band no longer holds {joint}", f"band newly holds {joint}")


def _exercise_gains(less: Exercise | None, wide: Exercise, more: str) -> Iterator[str]:
    name = wide.name
    if less is None:
        yield _say(more, f"{name}: added", f"{name}: withdrawn")
        return
    if less.held_until_release and not wide.held_until_release:
        yield _say(more, f"{name}: no longer held", f"{name}: held until release")
    if less.motion != wide.motion and more == "more":
        yield f"{name}: another kind of motion"
    for what in sorted({*wide.digits, *wide.joints} - {*less.digits, *less.joints}):
        yield _say(more, f"{name}: {what} added", f"{name}: {what} withdrawn")
    yield from _dose(less, wide, more)


def _dose(less: Exercise, wide: Exercise, more: str) -> Iterator[str]:
    if less.dose.unit != wide.dose.unit:
        if more == "more":
            yield f"{wide.name}: counted in {wide.dose.unit}"
    elif _daily(wide) > _daily(less) or wide.dose.amount > less.dose.amount:
        yield _say(more, f"{wide.name}: more of it", f"{wide.name}: less of it")


def _daily(exercise: Exercise) -> int:
    return exercise.dose.amount * slots_a_day(exercise.schedule, DEFAULT_WAKING)
