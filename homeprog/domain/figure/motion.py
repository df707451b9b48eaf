"""What moves, how far and who moves it: arcs with arrows, and the bar that must not be passed."""

from __future__ import annotations

from cmath import phase, rect
from math import degrees, pi, radians

from .outline import Limb, smooth
from .scene import Motion, Power
from .svg import Pen

GAP = 11.0  # mm between the finger's end and the first arc, and between the arcs
HEAD = 8.5  # mm, length of an arrow's head
DIGIT = 6.2  # mm, radius of the disc with a number


def arcs(pen: Pen, motion: Motion, start: Limb, end: Limb) -> None:
    """Arc 1 from the start to the end at the joint that leads, arc 2 back, and the limit."""
    joint = start.chain.names.index(motion.joint)
    centre = start.chain.points[joint]
    a0, a1 = (phase(limb.chain.bone(joint)) for limb in (start, end))
    turn = (a1 - a0 + pi) % (2 * pi) - pi
    radius = max(abs(p - centre) for limb in (start, end) for p in limb.chain.points[joint:]) + GAP
    pen.open("way")
    if motion.limit is not None:
        still = phase(start.chain.bone(joint - 1)) if joint else 0.0
        _limit(pen, centre, radius, still - radians(motion.limit))
    _arrow(pen, "there", motion.there, centre, radius, a0, turn)
    _arrow(pen, "back", motion.back, centre, radius + GAP, a0 + turn, -turn)
    for number, (r, share) in enumerate(((radius, 0.36), (radius + GAP, 0.64)), 1):
        at = centre + rect(r, a0 + turn * share)
        pen.dot("disc", at, DIGIT)
        pen.text("no", at, str(number))
    pen.close()


def _arrow(
    pen: Pen, name: str, who: Power, centre: complex, radius: float, start: float, turn: float
) -> None:
    """An arc and its head; `start` and `turn` in radians."""
    steps = max(2, round(abs(degrees(turn)) / 8))
    points = [centre + rect(radius, start + turn * n / steps) for n in range(steps + 1)]
    pen.curve(f"arc {name} {who}", smooth(points))
    tip, way = points[-1], points[-1] - points[-2]
    way = way / abs(way) * rect(1, turn / steps / 2)
    pen.lines(
        f"head {name} {who}",
        [tip - HEAD * way * rect(1, a) for a in (0.5,)]
        + [tip]
        + [tip - HEAD * way * rect(1, -0.5)],
    )


def _limit(pen: Pen, centre: complex, radius: float, angle: float) -> None:
    """A wall across the way: a bar along the limit's line, hatched behind."""
    ray = rect(1, angle)
    near, far = centre + ray * (radius - 7), centre + ray * (radius + GAP + 9)
    pen.lines("limit", [near, far], places=2)
    behind = ray * -1j
    ticks = []
    for n in range(5):
        at = near + (far - near) * (n + 0.5) / 5
        ticks.append([at, at + (behind - ray * 0.7) * 4.6])
    pen.lines("hatch", *ticks)
