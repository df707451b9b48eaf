"""What moves, how far and who moves it: arcs with arrows, and the bar that must not be passed."""

from __future__ import annotations

from cmath import phase, rect
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import degrees, hypot, pi, radians

from .outline import Limb, smooth, unit
from .scene import Motion
from .svg import Pen

Line = Sequence[complex]

GAP = 12.0  # mm between the finger's end and the first arc, and between the arcs
ARC = 56.0  # mm, least length of an arc: two numbers fit on it
HEAD = 8.5  # mm, length of an arrow's head
DISC = 8.0  # mm, radius of the disc with a number


@dataclass(frozen=True, slots=True)
class Way:
    """The way of the bone beyond the joint that leads, as arcs about that joint.

    An arc winds from the tip where the movement starts to the tip where it ends.
    """

    motion: Motion
    centre: complex  # mm
    radius: float  # mm, of the arc there at its start; the arc back runs GAP further out
    last: float  # mm, the same at its end
    start: float  # radians
    turn: float  # radians from start to end
    limit: float | None  # radians
    touch: float  # mm from the joint to the skin that meets the limit

    def there(self, pen: Pen) -> None:
        """Arc 1."""
        _arrow(pen, f"there {self.motion.there}", self.line(0))

    def back(self, pen: Pen) -> None:
        """Arc 2."""
        _arrow(pen, f"back {self.motion.back}", self.line(GAP)[::-1])

    def at(self, share: float, out: float = 0.0) -> complex:
        """A point of the way, `out` mm outside arc 1."""
        radius = self.radius + (self.last - self.radius) * share + out
        return self.centre + rect(radius, self.start + self.turn * share)

    def line(self, out: float) -> list[complex]:
        steps = max(2, round(abs(degrees(self.turn)) / 10))
        return [self.at(n / steps, out) for n in range(steps + 1)]

    def numbers(self, pen: Pen) -> None:
        """1 and 2, each on its arc; where the arcs are short they part sideways."""
        apart = abs(self.turn) * (self.radius + self.last) / 2 * 0.32
        aside = max(0.0, (2 * DISC + 5 - hypot(apart, GAP)) / 1.4)
        for number, (out, share) in enumerate(((-aside, 0.34), (GAP + aside, 0.66)), 1):
            at = self.at(share, out)
            pen.dot("disc", at, DISC)
            pen.text("no", at, str(number))

    def wall(self, pen: Pen, name: str = "limit", out: float = GAP) -> None:
        """The limit, as a bar from the skin that meets it past an arc so far `out`."""
        if self.limit is not None:
            share = min(max(turned(self.limit - self.start) / self.turn, 0.0), 1.0)
            far = abs(self.at(share, out + 8) - self.centre)
            wall(pen, name, self.centre, (self.touch + 0.8, far), self.limit)


def wall(pen: Pen, name: str, centre: complex, radii: tuple[float, float], angle: float) -> None:
    """A bar along a limit's line, hatched on the side that must not be reached by bending."""
    ray = rect(1, angle)
    near, far = (centre + ray * radius for radius in radii)
    pen.lines(name, [near, far], places=2)
    teeth = max(4, round(abs(far - near) / 6))
    places = (near + (far - near) * (n + 0.5) / teeth for n in range(teeth))
    pen.lines("hatch", *([at, at - ray * rect(5.6, 0.96)] for at in places))


def turned(angle: float) -> float:
    """The same angle within half a turn of 0, radians."""
    return (angle + pi) % (2 * pi) - pi


def way_of(motion: Motion, limbs: tuple[Limb, Limb], skins: tuple[Line, Line]) -> Way:
    """Where the arcs of a movement run, outside all that moves; limbs and skins: start, end."""
    joint = limbs[0].chain.names.index(motion.joint)
    centre = limbs[0].chain.points[joint]
    first, last = (phase(limb.chain.bone(joint)) for limb in limbs)
    turn = turned(last - first)
    ends = [_leaves(skin, centre, at) for skin, at in zip(skins, (first, last), strict=True)]
    limit, touch = None, 0.0
    if motion.limit is not None:
        limit = phase(limbs[0].chain.bone(joint - 1)) - radians(motion.limit)
        met = min((0, 1), key=lambda n: abs(turned((first, last)[n] - limit)))
        touch = _leaves(skins[met], centre, limit)
    more = GAP + max(_hides(p - centre, first, turn, ends) for skin in skins for p in skin)
    mean = sum(ends) / 2 + more
    more += max(0.0, min(ARC / max(abs(turn), 0.01), mean + 2.5 * GAP) - mean)
    return Way(motion, centre, ends[0] + more, ends[1] + more, first, turn, limit, touch)


def _leaves(skin: Line, centre: complex, angle: float) -> float:
    """mm from a centre to where a line at an angle leaves the skin; to its furthest if never."""
    turned_ = [(point - centre) * rect(1, -angle) for point in skin]
    crossed = [
        a.real + (b.real - a.real) * a.imag / (a.imag - b.imag)
        for a, b in pairwise(turned_)
        if a.imag * b.imag < 0 and a.real > 0
    ]
    return max(crossed, default=max(map(abs, turned_)))


def _hides(point: complex, first: float, turn: float, ends: list[float]) -> float:
    """mm by which a point of skin reaches over the line between two ends; 0 beside the way."""
    share = turned(phase(point) - first) / turn if turn and point else -1.0
    if not -0.02 <= share <= 1.02:
        return 0.0
    return max(0.0, abs(point) - ends[0] - (ends[1] - ends[0]) * share)


def arcs(pen: Pen, way: Way) -> None:
    """Both arcs, their numbers and the limit."""
    pen.open("way")
    way.wall(pen)
    way.there(pen)
    way.back(pen)
    way.numbers(pen)
    pen.close()


def _arrow(pen: Pen, name: str, points: list[complex]) -> None:
    """An arc and its head."""
    pen.curve(f"arc {name}", smooth(points, 1 / 3), places=2)
    pen.lines(f"head {name}", head(points))


def head(points: list[complex]) -> list[complex]:
    """The head of an arrow along these points."""
    tip = points[-1]
    ahead = unit(tip - points[-2])
    return [tip - HEAD * ahead * rect(1, 0.5), tip, tip - HEAD * ahead * rect(1, -0.5)]
