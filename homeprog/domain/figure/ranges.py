"""How far joints go: usually in a healthy hand, and in a phase."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..course import Digit, Joint, joints_of
from ..regime.body import Phase

FINGERS: tuple[Digit, ...] = ("index", "middle", "ring", "small")
# (extension, flexion) from straight, in degrees. Read at e-hand.com/nor/nor002.htm ('Normal Range
# of Motion Reference Values'): wrist 70/75, MCP (0-45H)/90, PIP 0/100, DIP 0/80, thumb MCP 10/55,
# thumb IP 15H/80. Thumb CMC 20/15: read in a study card only (quizwizapp.com, 'T&M: Thumb, Finger,
# Wrist ROM').
USUAL: Mapping[Joint, tuple[int, int]] = MappingProxyType(
    {
        "wrist": (-70, 75),
        "CMC": (-20, 15),
        "MCP": (-45, 90),
        "PIP": (0, 100),
        "DIP": (0, 80),
        "IP": (-15, 80),
    }
)
USUAL_THUMB_MCP = (-10, 55)


def usual(joint: Joint, digit: Digit) -> tuple[int, int]:
    """(straightest, most bent) of a healthy joint, degrees towards flexion."""
    return USUAL_THUMB_MCP if (joint, digit) == ("MCP", "thumb") else USUAL[joint]


def drawn_joints(digit: Digit) -> tuple[Joint, ...]:
    """The joints of a picture of one digit from the side, nearest the forearm first."""
    return ("wrist", *joints_of(digit))


def held(phase: Phase, digit: Digit, joint: Joint) -> tuple[int, int] | None:
    """(straightest, most bent) between which a phase holds a joint still, or None."""
    return _stated(phase, digit, joint, moves=False)


def moving(phase: Phase, digit: Digit, joint: Joint) -> tuple[int, int] | None:
    """(from, to) between which a phase lets a joint move, in its own order, or None."""
    return _stated(phase, digit, joint, moves=True)


def stop(phase: Phase, digit: Digit, joint: Joint) -> int | None:
    """Degrees of flexion that must not be passed: the splint's stop, or the end of its range."""
    range_ = moving(phase, digit, joint)
    return max(range_) if range_ else _splint_stop(phase, digit, joint)


def _splint_stop(phase: Phase, digit: Digit, joint: Joint) -> int | None:
    return phase.limits.get(digit) if joint == "MCP" else None


def _stated(phase: Phase, digit: Digit, joint: Joint, *, moves: bool) -> tuple[int, int] | None:
    """The first position that fits; never past the splint's stop."""
    for each in phase.positions:
        if each.joint != joint or each.moves != moves:
            continue
        if joint == "wrist" or not each.digits or digit in each.digits:
            start, end = (each.start.bent, each.end.bent) if moves else each.span
            most = _splint_stop(phase, digit, joint)
            return (start, end) if most is None else (min(start, most), min(end, most))
    return None
