"""What was mended, seen from the back: the tendon's course, the wounds, a pointer."""

from __future__ import annotations

from itertools import pairwise

from ..course import Digit, Zone
from .outline import smooth
from .rays import Bar
from .svg import Pen

# Where on a tendon a zone lies: bone and share of the way along it, or how far up the hand.
ON_DIGIT: dict[Zone, float] = {
    "I": 2.0, "II": 1.5, "III": 1.0, "IV": 0.55, "V": 0.0,
    "TI": 2.0, "TII": 1.5, "TIII": 1.0, "TIV": 0.5, "TV": 0.0,
}  # fmt: skip
UP_THE_HAND: dict[Zone, float] = {"VI": 42.0, "VII": 0.0, "VIII": -18.0, "IX": -33.0}  # mm


def tendon(pen: Pen, each: Bar, digit: Digit) -> list[complex]:
    """The tendon's course, and its points."""
    knuckle = each.points[0]
    wrist = complex(15, -2) if digit == "thumb" else complex(knuckle.real * 0.36 - 1, 0)
    run = [complex(wrist.real * 0.7, -39), wrist, knuckle, *each.points[1:3], each.at(2.3)[0]]
    pen.curve("tendon", smooth(run))
    return run


def wound(each: Bar, run: list[complex], zone: Zone | None) -> tuple[complex, complex] | None:
    """(point, unit vector along the tendon) of a repair in a zone."""
    if zone is None:
        return None
    if zone in ON_DIGIT:
        return each.at(ON_DIGIT[zone])[:2]
    return _at_height(run, UP_THE_HAND[zone])


def _at_height(run: list[complex], height: float) -> tuple[complex, complex]:
    """(point, unit vector) where a tendon passes a height, mm above the wrist."""
    for start, end in pairwise(run):
        if start.imag <= height <= end.imag:
            way = end - start
            return start + way * (height - start.imag) / way.imag, way / abs(way)
    return run[2], 1j


def wounds(pen: Pen, rest: list[tuple[complex, complex]]) -> None:
    """A dressing across each repair; one for those that lie close together."""
    while rest:
        at, way = rest.pop(0)
        near = [other for other in rest if abs(other[0] - at) < 24]
        rest = [other for other in rest if other not in near]
        points = [at, *(other[0] for other in near)]
        spread = max(abs(p - at) for p in points)
        _dressing(pen, sum(points) / len(points), way if not near else 1j, 11 + spread / 2)


def _dressing(pen: Pen, at: complex, way: complex, half: float) -> None:
    """A sticking plaster with its pad; `half`: half its length in mm."""
    across = way * -1j
    for name, wide, high in (("repair", half, 6.0), ("pad-mark", half * 0.42, 6.0)):
        a, b = across * wide, way * high
        pen.lines(name, [at - a - b, at + a - b, at + a + b, at - a + b], shut=True)


def pointer(pen: Pen, each: Bar) -> None:
    """A solid arrow that points at a mended digit's tip."""
    tip, way, _ = each.at(3.0)
    low, across = tip + way * 27, way * 1j
    shape = [(0, 0), (11, 8), (11, 3), (24, 3), (24, -3), (11, -3), (11, -8)]
    pen.lines("mark", [low + way * up + across * out for up, out in shape], shut=True)
