"""The soft skin line that follows a skeleton."""

from __future__ import annotations

from cmath import phase
from collections.abc import Sequence
from dataclasses import dataclass
from math import tan

from .skeleton import Chain

ROUND = 2.2  # mm from a joint's line to the next point of the skin: how soft a bend is


@dataclass(frozen=True, slots=True)
class Flesh:
    """Half thicknesses of a bone, back and palm side, in mm, from near to far end."""

    back: tuple[float, ...]
    palm: tuple[float, ...]


def smooth(points: Sequence[complex]) -> list[complex]:
    """A curve through the points: the first, then three control points for each next.

    Each handle is a third of its own span, so that uneven points do not overshoot.
    """
    last = len(points) - 1
    curve = [points[0]]
    for n in range(last):
        start, end = points[n], points[n + 1]
        third = abs(end - start) / 3
        curve += (
            start + third * _heading(points[max(n - 1, 0)], end),
            end - third * _heading(start, points[min(n + 2, last)]),
            end,
        )
    return curve


def _heading(a: complex, b: complex) -> complex:
    step = b - a
    return step / abs(step) if step else 0j


def side(chain: Chain, flesh: Sequence[Flesh], first: int, last: int, up: bool) -> list[complex]:
    """Points of the skin along bones first..last (both in), on the back (up) or the palm side.

    The number of points does not depend on the pose, so that one outline turns into another.
    """
    points: list[complex] = []
    for number in range(first, last + 1):
        points += _along(chain, flesh, number, up)
        if number < last:
            points += _at_joint(chain, flesh, number, up)
    return points


def _along(chain: Chain, flesh: Sequence[Flesh], number: int, up: bool) -> list[complex]:
    """Points between two joints; where a bend is tight they keep clear of it."""
    start, bone = chain.points[number], chain.bone(number)
    length = abs(chain.points[number + 1] - start)
    widths = _widths(flesh[number], up)
    near = _taken(chain, flesh, number - 1, up)
    far = length - _taken(chain, flesh, number, up)
    normal = bone * (1j if up else -1j)
    inner = range(1, len(widths) - 1)
    steps = [near + (far - near) * n / (len(widths) - 1) for n in inner]
    return [start + bone * s + normal * widths[n] for n, s in zip(inner, steps, strict=True)]


def _at_joint(chain: Chain, flesh: Sequence[Flesh], number: int, up: bool) -> list[complex]:
    """Three points round the joint at the far end of a bone."""
    joint, before, after = chain.points[number + 1], chain.bone(number), chain.bone(number + 1)
    middle = skin_at(chain, flesh, number, up)
    if middle is None:
        return []
    if _opens(before, after, up):
        radius = _radius(flesh, number, up)
        turn = 1j if up else -1j
        return [
            joint + before * turn * radius - before * ROUND,
            middle,
            joint + after * turn * radius + after * ROUND,
        ]
    return [middle - before * ROUND, middle, middle + after * ROUND]


def skin_at(chain: Chain, flesh: Sequence[Flesh], number: int, up: bool) -> complex | None:
    """The skin at the joint at the far end of a bone, on the line that halves the bend."""
    if number < 0 or number + 2 >= len(chain.points):
        return None
    before, after = chain.bone(number), chain.bone(number + 1)
    halves = _heading(0j, before + after) * (1j if up else -1j)
    radius = _radius(flesh, number, up)
    if not _opens(before, after, up):
        bend = abs(phase(after / before)) / 2
        radius = min(radius * (1 + tan(bend) ** 2) ** 0.5, 1.75 * radius)
    return chain.points[number + 1] + halves * radius


def _taken(chain: Chain, flesh: Sequence[Flesh], number: int, up: bool) -> float:
    """mm of a bone's skin that the bend at the far end of bone `number` takes."""
    if number < 0 or number + 2 >= len(chain.points):
        return 0.0
    before, after = chain.bone(number), chain.bone(number + 1)
    if _opens(before, after, up):
        return ROUND
    return ROUND + _radius(flesh, number, up) * tan(abs(phase(after / before)) / 2)


def _opens(before: complex, after: complex, up: bool) -> bool:
    """Whether this side is the outer one of the bend."""
    return (phase(after / before) <= 0) == up


def _widths(flesh: Flesh, up: bool) -> tuple[float, ...]:
    return flesh.back if up else flesh.palm


def _radius(flesh: Sequence[Flesh], number: int, up: bool) -> float:
    return (_widths(flesh[number], up)[-1] + _widths(flesh[number + 1], up)[0]) / 2
