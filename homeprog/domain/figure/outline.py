"""The soft skin line that follows a skeleton."""

from __future__ import annotations

from cmath import phase
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, tan

from .skeleton import Chain

SOFT, TIGHT = 0.7, 0.3  # of the thickness at a joint: how far from it the skin begins to turn
HANDLE = 0.45  # of the shorter span beside a point: its handles
MITRE = 1.75  # of the thickness: the most that the skin inside a bend moves away from the joint


@dataclass(frozen=True, slots=True)
class Flesh:
    """Half thicknesses of a bone, back and palm side, in mm, from its near to its far end."""

    back: tuple[float, ...]
    palm: tuple[float, ...]

    def on(self, up: bool) -> tuple[float, ...]:
        return self.back if up else self.palm

    def grown(self, back: float, palm: float) -> Flesh:
        """Thicker by so many mm on each side."""
        return Flesh(tuple(w + back for w in self.back), tuple(w + palm for w in self.palm))


@dataclass(frozen=True, slots=True)
class Limb:
    """A chain of bones with its flesh, one for each bone."""

    chain: Chain
    flesh: tuple[Flesh, ...]

    def edge(self, bone: int, way: float, up: bool, more: float = 0.0) -> complex:
        """A point of the skin at a share of the way along a bone, `more` mm outside it."""
        start, end = self.chain.points[bone], self.chain.points[bone + 1]
        width = width_at(self.flesh[bone].on(up), way) + more
        return start + (end - start) * way + self.chain.bone(bone) * _side(up) * width


def width_at(widths: Sequence[float], way: float) -> float:
    """Half thickness at a share (0 to 1) of the way along a bone, mm."""
    place = min(max(way, 0.0), 1.0) * (len(widths) - 1)
    low = min(int(place), len(widths) - 2)
    return widths[low] + (widths[low + 1] - widths[low]) * (place - low)


def smooth(points: Sequence[complex], handle: float = HANDLE) -> list[complex]:
    """A curve through the points: the first, then three control points for each next.

    A point's two handles are equal, and short enough for the nearer of its neighbours: uneven
    points do not overshoot, and one handle can be written for both.
    """
    lengths = [abs(b - a) for a, b in pairwise(points)]
    before, after = [points[0], *points[:-1]], [*points[1:], points[-1]]
    spans = zip([lengths[0], *lengths], [*lengths, lengths[-1]], strict=True)
    handles = [
        unit(b - a) * (handle * (x if x < y else y))
        for a, b, (x, y) in zip(before, after, spans, strict=True)
    ]
    curve = [points[0]]
    for n, point in enumerate(points[1:], 1):
        curve += (points[n - 1] + handles[n - 1], point - handles[n], point)
    return curve


def unit(step: complex) -> complex:
    """The same direction, length 1; 0 for no step."""
    return step / abs(step) if step else 0j


def side(limb: Limb, first: int, last: int, up: bool) -> list[complex]:
    """Points of the skin along bones first..last (both in), on the back (up) or the palm side.

    The number of points does not depend on the pose, so that one outline turns into another.
    """
    points: list[complex] = []
    for bone in range(first, last + 1):
        points += _along(limb, bone, up)
        if bone < last:
            points += at_joint(limb, bone, up)
    return points


def at_joint(limb: Limb, bone: int, up: bool) -> list[complex]:
    """Three points of the skin round the joint at the far end of a bone."""
    joint = limb.chain.points[bone + 1]
    before, after = limb.chain.bone(bone), limb.chain.bone(bone + 1)
    radius, middle = _radius(limb, bone, up), skin_at(limb, bone, up)
    if _opens(before, after, up):
        near, far = joint + before * _side(up) * radius, joint + after * _side(up) * radius
    else:
        near = far = middle
    soft = radius * _softness(_bend(limb, bone))
    near, far = near - before * soft, far + after * soft
    return [near, middle * 0.6 + (near + far) * 0.2, far]


def skin_at(limb: Limb, bone: int, up: bool) -> complex:
    """The skin on the line that halves the bend at the far end of a bone."""
    before, after = limb.chain.bone(bone), limb.chain.bone(bone + 1)
    radius = _radius(limb, bone, up)
    if not _opens(before, after, up):
        radius = min(radius / cos(_bend(limb, bone) / 2), MITRE * radius)
    return limb.chain.points[bone + 1] + unit(before + after) * _side(up) * radius


def _along(limb: Limb, bone: int, up: bool) -> list[complex]:
    """Points between two joints; where a bend is tight they keep clear of it."""
    start, end = limb.chain.points[bone : bone + 2]
    widths = limb.flesh[bone].on(up)
    near, far = _taken(limb, bone - 1, up), abs(end - start) - _taken(limb, bone, up)
    way, normal = limb.chain.bone(bone), limb.chain.bone(bone) * _side(up)
    share = 1 / (len(widths) - 1)
    return [
        start + way * (near + (far - near) * share * n) + normal * widths[n]
        for n in range(1, len(widths) - 1)
    ]


def _taken(limb: Limb, bone: int, up: bool) -> float:
    """mm of skin that the bend at the far end of a bone takes from each of its bones."""
    if bone < 0 or bone + 2 >= len(limb.chain.points):
        return 0.0
    radius = _radius(limb, bone, up)
    bend = _bend(limb, bone)
    inside = not _opens(limb.chain.bone(bone), limb.chain.bone(bone + 1), up)
    return radius * (_softness(bend) + (tan(bend / 2) if inside else 0.0))


def _softness(bend: float) -> float:
    """Less where the bend (radians) is sharp: a short bone has little room."""
    return SOFT + (TIGHT - SOFT) * min(bend / 1.2, 1.0)


def _bend(limb: Limb, bone: int) -> float:
    return abs(phase(limb.chain.bone(bone + 1) / limb.chain.bone(bone)))


def _opens(before: complex, after: complex, up: bool) -> bool:
    """Whether this side is the outer one of the bend."""
    return (phase(after / before) <= 0) == up


def _side(up: bool) -> complex:
    return 1j if up else -1j


def _radius(limb: Limb, bone: int, up: bool) -> float:
    return (limb.flesh[bone].on(up)[-1] + limb.flesh[bone + 1].on(up)[0]) / 2
