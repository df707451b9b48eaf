"""What moves, how far and who moves it: arcs with arrows, and the bar that must not be passed."""

from __future__ import annotations

from cmath import phase, rect
from dataclasses import dataclass
from math import copysign, degrees, hypot, pi, radians

from .outline import Limb, smooth
from .scene import Motion, Power
from .svg import Pen

GAP = 12.0  # mm between the finger's end and the first arc, and between the arcs
ARC = 44.0  # mm, least length of an arc: two numbers fit on it
HEAD = 8.5  # mm, length of an arrow's head
DISC = 8.0  # mm, radius of the disc with a number


@dataclass(frozen=True, slots=True)
class Way:
    """The way of the bone beyond the joint that leads, as arcs about that joint."""

    motion: Motion
    centre: complex  # mm
    radius: float  # mm, of the arc there; the arc back runs GAP further out
    start: float  # radians
    turn: float  # radians from start to end
    limit: float | None  # radians

    def there(self, pen: Pen) -> None:
        """Arc 1."""
        _arrow(pen, "there", self.motion.there, self, self.radius, self.start, self.turn)

    def back(self, pen: Pen) -> None:
        """Arc 2."""
        radius = self.radius + GAP
        _arrow(pen, "back", self.motion.back, self, radius, self.start + self.turn, -self.turn)

    def numbers(self, pen: Pen) -> None:
        """1 and 2, each on its arc; where the arcs are short they part sideways."""
        apart = abs(self.turn) * self.radius * 0.32
        aside = max(0.0, (2 * DISC + 5 - hypot(apart, GAP)) / 1.4)
        for number, (out, share) in enumerate(((-aside, 0.34), (GAP + aside, 0.66)), 1):
            at = self.centre + rect(self.radius + out, self.start + self.turn * share)
            pen.dot("disc", at, DISC)
            pen.text("no", at, str(number))

    def wall(self, pen: Pen) -> None:
        """The limit."""
        if self.limit is not None:
            wall(pen, self.centre, self.radius, self.limit)


def wall(pen: Pen, centre: complex, radius: float, angle: float) -> None:
    """A bar along a limit's line, hatched on the side that must not be reached by bending."""
    ray = rect(1, angle)
    near, far = centre + ray * (radius - 7), centre + ray * (radius + 20)
    pen.lines("limit", [near, far], places=2)
    places = (near + (far - near) * (n + 0.5) / 5 for n in range(5))
    pen.lines("hatch", *([at, at - ray * rect(5.6, 0.96)] for at in places))


def way_of(motion: Motion, start: Limb, end: Limb) -> Way:
    """Where the arcs of a movement run, outside all that moves."""
    joint = start.chain.names.index(motion.joint)
    centre = start.chain.points[joint]
    first, last = (phase(limb.chain.bone(joint)) for limb in (start, end))
    moved = [abs(p - centre) for limb in (start, end) for p in limb.chain.points[joint:]]
    limit = None
    if motion.limit is not None:
        limit = phase(start.chain.bone(joint - 1)) - radians(motion.limit)
    turn = (last - first + pi) % (2 * pi) - pi
    near = max(moved) + GAP
    radius = max(near, min(ARC / max(abs(turn), 0.01), near + 2 * GAP))
    return Way(motion, centre, radius, first, turn, limit)


def arcs(pen: Pen, way: Way) -> None:
    """Both arcs, their numbers and the limit."""
    pen.open("way")
    way.wall(pen)
    way.there(pen)
    way.back(pen)
    way.numbers(pen)
    pen.close()


def _arrow(
    pen: Pen, name: str, who: Power, way: Way, radius: float, start: float, turn: float
) -> None:
    """An arc and its head; `start` and `turn` in radians."""
    steps = max(2, round(abs(degrees(turn)) / 10))
    points = [way.centre + rect(radius, start + turn * n / steps) for n in range(steps + 1)]
    pen.curve(f"arc {name} {who}", smooth(points, 1 / 3), places=2)
    tip, ahead = points[-1], rect(1, start + turn) * (1j if turn > 0 else -1j)
    wings = [tip - HEAD * ahead * rect(1, slant - copysign(0.04, turn)) for slant in (0.5, -0.5)]
    pen.lines(f"head {name} {who}", [wings[0], tip, wings[1]])
