"""Reads angles back out of a picture's coordinates: NumPy and XML, nothing of the drawing code.

Degrees are counted towards bending: the turn from one bone to the next, away from the nail.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

SVG = "{http://www.w3.org/2000/svg}"
Points = NDArray[np.float64]  # rows of x, y in mm, y downwards
FINGER = ("forearm", "wrist", "MCP", "PIP", "DIP", "tip")
THUMB = ("wrist", "CMC", "MCP", "IP", "tip")
ARM = ("forearm", "wrist", "knuckle")
NUMBER = r"-?\d+(?:\.\d+)?"


class Picture:
    """A drawing, parsed."""

    def __init__(self, svg: str) -> None:
        """Fails where it is no XML."""
        self.root: Any = ET.fromstring(svg)
        self._centres = {which: self._joints(which) for which in ("start", "end", "beside")}

    def classed(self, name: str) -> list[Any]:
        """Every element that has all the classes of `name`."""
        wanted = set(name.split())
        return [each for each in self.root.iter() if wanted <= set(each.get("class", "").split())]

    def joints(self, which: str) -> dict[str, Points]:
        """Centres by name of the pose at 'start', of the 'end', or of the finger 'beside'."""
        return self._centres[which]

    def _joints(self, which: str) -> dict[str, Points]:
        groups = self.classed(f"bones {which}")
        assert len(groups) <= 1
        dots = [dot for group in groups for dot in group.iter(f"{SVG}circle")]
        return {
            dot.get("class").split()[1]: np.array([float(dot.get("cx")), float(dot.get("cy"))])
            for dot in dots
        }

    def chains(self, which: str = "start") -> list[Points]:
        """The bones as polylines: of a finger one, of a thumb the arm's and its own."""
        at = self.joints(which)
        names = [ARM, THUMB] if "CMC" in at else [FINGER]
        return [np.array([at[name] for name in chain]) for chain in names] if at else []

    def bends(self, which: str = "start") -> dict[str, float]:
        """Joint -> degrees towards bending; empty where there is no such pose."""
        at, side = self.joints(which), self.palm
        if not at:
            return {}
        names = [ARM, THUMB] if "CMC" in at else [FINGER]
        return {
            joint: side * turn(at[joint] - at[before], at[after] - at[joint])
            for chain in names
            for before, joint, after in zip(chain, chain[1:], chain[2:], strict=False)
        }

    @cached_property
    def palm(self) -> int:
        """+1 where a clockwise turn on the screen bends, -1 where it straightens.

        The nail lies on the back of a finger: palmwards is the other side of its end bone.
        """
        at = self.joints("start")
        nails = [points(each.get("d")).mean(axis=0) for each in self.classed("nail")]
        nail = min(nails, key=lambda middle: float(np.linalg.norm(middle - at["tip"])))
        before = at["IP"] if "IP" in at else at["DIP"]
        return -1 if cross(at["tip"] - before, nail - before) > 0 else 1

    def limit(self, joint: str) -> float:
        """Degrees towards bending of the bar that must not be passed."""
        (bar,) = self.classed("limit")
        near, far = points(bar.get("d"))
        at = self.joints("start")
        ray = self.palm * turn(self._before(joint), far - at[joint])
        assert abs(turn(near - at[joint], far - at[joint])) < 0.5  # it points away from the joint
        return float(ray)

    def arc(self, name: str, joint: str) -> tuple[float, float]:
        """(first, last) degrees towards bending of an arc round a joint."""
        (arc,) = self.classed(f"arc {name}")
        line, centre = points(arc.get("d")), self.joints("start")[joint]
        first, last = (turn(self._before(joint), end - centre) for end in (line[0], line[-1]))
        return self.palm * first, self.palm * last

    def _before(self, joint: str) -> Points:
        """The bone that leads to a joint."""
        at = self.joints("start")
        names = THUMB if "CMC" in at and joint != "wrist" else FINGER
        before: Points = at[joint] - at[names[names.index(joint) - 1]]
        return before

    def box(self) -> tuple[float, float, float, float]:
        """(least x, least y, most x, most y) of the view box."""
        x, y, wide, high = map(float, self.root.get("viewBox").split())
        return x, y, x + wide, y + high

    def drawn(self) -> Points:
        """Every coordinate that is drawn, of films too; a curve lies within its own points."""
        lines = [points(each.get("d")) for each in self.root.iter(f"{SVG}path")]
        lines += [
            points(line)
            for film in self.root.iter(f"{SVG}animate")
            if film.get("attributeName") == "d"
            for line in film.get("values").split(";")
        ]
        for dot in self.root.iter(f"{SVG}circle"):
            middle, radius = [float(dot.get("cx")), float(dot.get("cy"))], float(dot.get("r"))
            lines.append(np.array([middle]) + radius * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]]))
        return np.vstack(lines)


def points(data: str) -> Points:
    """The points of path data written in absolute M, L, C and S; S leaves out a mirrored handle."""
    assert not re.search(r"[^MLCSZ\d\s.,-]", data), data
    return np.array(re.findall(NUMBER, data), dtype=float).reshape(-1, 2)


def cross(a: Points, b: Points) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def turn(a: Points, b: Points) -> float:
    """Degrees of the turn from a to b on the screen, clockwise above 0, in (-180, 180]."""
    return float(np.degrees(np.arctan2(cross(a, b), a @ b)))


def crossings(chain: Points) -> int:
    """How often bones of a chain cross that are not neighbours."""
    bones = list(pairwise(chain))
    return sum(
        _cross(bones[first], bones[second])
        for first in range(len(bones))
        for second in range(first + 2, len(bones))
    )


def _cross(a: tuple[Points, Points], b: tuple[Points, Points]) -> bool:
    """Whether each has its ends on both sides of the other; in one line with it is no crossing."""

    def parts(line: tuple[Points, Points], other: tuple[Points, Points]) -> bool:
        sides = [cross(line[1] - line[0], end - line[0]) for end in other]
        return sides[0] * sides[1] < 0

    return parts(a, b) and parts(b, a)
