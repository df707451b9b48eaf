"""From an exercise to what moves: which joints of a digit, from where to where, by whose power."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from ..course import CAN_COME_OFF, Digit, Joint
from ..regime.body import Exercise, Motion, Phase
from .ranges import drawn_joints, held, moving, stop, usual
from .scene import Power

Path = tuple[Joint, float, float]  # (joint, start, end), degrees towards flexion

# What is done as far as is easy may be shown without a figure. Where another's hand pushes, or
# wrist and fingers bend together, nothing is shown that the regime gives no figure for.
AS_FAR_AS_EASY: frozenset[Motion] = frozenset(
    {"free_joint", "active", "active_ip_flexion", "active_extension", "resistance",
     "wrist_active", "active_flexion_against_band"}
)  # fmt: skip
AS_STATED: frozenset[Motion] = frozenset({"wrist_active", "place_and_hold"})
ORDER: tuple[Joint, ...] = ("wrist", "CMC", "MCP", "PIP", "DIP", "IP")  # from the forearm on
SOFT = 0.5  # of the usual range: a soft curl, our choice
KEEPS_ON = re.compile(r"\bkeep\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Movement:
    """What an exercise does to one digit and the wrist."""

    measured: tuple[Path, ...]  # by the regime's figures
    easy: tuple[Path, ...]  # as far as is easy: no figure is prescribed
    there: Power
    back: Power

    @property
    def paths(self) -> tuple[Path, ...]:
        """All that moves, nearest the forearm first."""

        return tuple(sorted((*self.measured, *self.easy), key=lambda path: ORDER.index(path[0])))


def movement(phase: Phase, exercise: Exercise, digit: Digit) -> Movement | None:
    """None where it moves nothing that can be drawn: far joints, scar, or no figure to draw by."""
    if exercise.motion == "scar_massage":
        return None
    named = [joint for joint in drawn_joints(digit) if joint in _joints(phase, exercise)]
    ranges = {joint: moving(phase, digit, joint) for joint in named}
    measured = _moving(
        (joint, *_along(exercise.motion, *range_)) for joint, range_ in ranges.items() if range_
    )
    easy = _moving(
        (joint, *_softly(phase, exercise, digit, joint))
        for joint in _without_figure(phase, exercise, digit, named)
    )
    if not measured and not easy:
        return None
    there, back = _powers(phase, exercise.motion, digit)
    return Movement(measured, easy, there, back)


def _moving(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Without those that end where they start: a range of one angle, or a stop at straight."""
    return tuple(path for path in paths if path[1] != path[2])


def splint_off(phase: Phase, exercise: Exercise) -> bool:
    """Whether what is worn is set aside for an exercise; its own words to keep it on win."""
    if not phase.wear.by_day:
        return True
    may = "for_exercise" in phase.wear.comes_off and phase.splint.worn in CAN_COME_OFF
    return may and not KEEPS_ON.search(exercise.with_splint)


def _joints(phase: Phase, exercise: Exercise) -> tuple[Joint, ...]:
    """The joints it names; where it names none, those its kind of motion means."""
    if exercise.joints or exercise.motion == "free_joint":
        return exercise.joints
    if exercise.motion == "wrist_active":
        return ("wrist",)
    if exercise.motion == "active_ip_flexion":
        return ("PIP", "DIP", "IP")
    if exercise.motion == "active_flexion_against_band":
        return phase.band.joints if phase.band else ("MCP",)
    fingers: tuple[Joint, ...] = ("CMC", "MCP", "PIP", "DIP", "IP")
    return ("wrist", *fingers) if exercise.motion == "combined_flexion" else fingers


def _without_figure(
    phase: Phase, exercise: Exercise, digit: Digit, named: list[Joint]
) -> list[Joint]:
    """Of the joints named, those the phase neither holds nor gives a range.

    A joint that is held moves too where the splint is set aside, or where the exercise names
    nothing else: then the exercise is what frees it.
    """
    if exercise.motion not in AS_FAR_AS_EASY:
        return []
    rest = [joint for joint in named if moving(phase, digit, joint) is None]
    unheld = [joint for joint in rest if held(phase, digit, joint) is None]
    frees = splint_off(phase, exercise) or (not unheld and len(rest) == len(named))
    return rest if frees else unheld


def _along(motion: Motion, start: int, end: int) -> tuple[int, int]:
    """A range in the direction of a motion: bending, lifting, or as it stands."""
    if motion in AS_STATED:
        return start, end
    low, high = sorted((start, end))
    return (high, low) if motion == "active_extension" else (low, high)


def _softly(phase: Phase, exercise: Exercise, digit: Digit, joint: Joint) -> tuple[float, float]:
    """Start and end without a prescribed figure; a wrist goes back and to level, never past it."""
    low, high = usual(joint, digit)
    if joint == "wrist":
        return 0, low * SOFT
    most = stop(phase, digit, joint)
    soft = high * SOFT if most is None else min(high * SOFT, most)
    return (soft, 0) if exercise.motion == "active_extension" else (0, soft)


def _powers(phase: Phase, motion: Motion, digit: Digit) -> tuple[Power, Power]:
    """Who moves it there, and who back."""
    if motion == "active_flexion_against_band":
        return "patient", "band"
    if motion == "passive_flexion":
        banded = phase.band is not None and digit in (phase.band.digits or (digit,))
        return "other_hand", "band" if banded else "patient"
    return ("other_hand" if motion == "place_and_hold" else "patient"), "patient"
