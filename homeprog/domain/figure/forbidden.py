"""The pose a phase forbids: bent past what it holds or stops, by its own figures."""

from __future__ import annotations

from ..course import Digit, Joint, Side
from ..regime.body import Phase
from .movement import movement
from .ranges import drawn_joints, held, moving, stop, usual
from .scene import Pose, Scene, Span

SEEN = 30  # degrees past the limit from which a drawing shows it; our choice


def forbidden_scene(phase: Phase, side: Side, digit: Digit) -> Scene | None:
    """Joints the phase holds or stops, bent as far as they go; None where it limits none.

    `prescribed` holds what the pose breaks. The wrist is bent only where no joint of the digit
    can be: one picture forbids one thing.
    """
    broken = _broken(phase, digit)
    of_digit = tuple(span for span in broken if span[0] != "wrist")
    shown = of_digit or broken
    if not shown:
        return None
    pose = _pose(phase, digit, {joint for joint, _, _ in shown})
    return Scene("forbidden", side, (digit,), pose, shown)


def _broken(phase: Phase, digit: Digit) -> tuple[Span, ...]:
    """(joint, straightest, most bent) of the joints that could be seen to bend further."""
    spans = ((joint, _allowed(phase, digit, joint)) for joint in drawn_joints(digit))
    return tuple(
        (joint, *span) for joint, span in spans if span and usual(joint, digit)[1] - span[1] >= SEEN
    )


def _allowed(phase: Phase, digit: Digit, joint: Joint) -> tuple[int, int] | None:
    """What a joint may do at any hour of the day; None where nothing limits it by then."""
    range_, most = moving(phase, digit, joint), stop(phase, digit, joint)
    if range_ is not None:
        return min(range_), max(range_)
    if most is not None:
        return min(0, most), most
    return held(phase, digit, joint) if _always_held(phase, digit, joint) else None


def _always_held(phase: Phase, digit: Digit, joint: Joint) -> bool:
    """Held by day, through exercise, and freed by no exercise; a yoke holds at no angle."""
    if (
        phase.splint.worn in (None, "yoke")
        or not phase.wear.by_day
        or "for_exercise" in phase.wear.comes_off
    ):
        return False
    moves = (movement(phase, exercise, digit) for exercise in phase.exercises)
    return all(joint not in [path[0] for path in each.paths] for each in moves if each)


def _pose(phase: Phase, digit: Digit, broken: set[Joint]) -> Pose:
    degrees: list[tuple[Joint, float]] = []
    for joint in drawn_joints(digit):
        still, range_ = held(phase, digit, joint), moving(phase, digit, joint)
        if joint in broken:
            degrees.append((joint, usual(joint, digit)[1]))
        elif still is not None:
            degrees.append((joint, sum(still) / 2))
        elif range_ is not None:
            degrees.append((joint, range_[0]))
    return Pose(tuple(degrees))
