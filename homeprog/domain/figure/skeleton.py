"""Where the joints of a pose lie: plain forward kinematics, seen from the thumb's side.

Points are complex numbers in mm; the wrist is 0, the forearm comes from the left and lies level,
up is the back of the hand, and bending turns clockwise. This is the left hand; the drawing turns
the other one round when it writes its coordinates.
"""

from __future__ import annotations

from cmath import rect
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from math import radians

import numpy as np

from ..course import Digit, Joint
from .hand_model import FOREARM, RAYS
from .scene import Pose

KEPT = 512  # shapes: the pictures of a course show the same hand again and again
FINGER: tuple[Joint, ...] = ("wrist", "MCP", "PIP", "DIP")
THUMB: tuple[Joint, ...] = ("CMC", "MCP", "IP")
THUMB_BASE = rect(RAYS["thumb"].knuckle * 1.25, radians(-38))  # from the wrist; by eye
# Degrees where a pose prescribes nothing: a loose hand. By eye.
AT_REST: dict[Joint, float] = {"wrist": -15, "MCP": 18, "PIP": 22, "DIP": 10, "CMC": 0, "IP": 12}
THUMB_ANGLES = (-12, 0, 12, 24, 36, 48)  # at its base: ways a loose thumb may be held
THUMB_AT_REST: dict[Joint, float] = {"CMC": 0, "MCP": 8, "IP": 12}


@dataclass(frozen=True)
class Chain:
    """Joint centres in order, from a still point to the tip."""

    names: tuple[str, ...]  # 'forearm', the joints, 'tip'
    points: tuple[complex, ...]  # mm

    def bone(self, number: int) -> complex:
        """Unit vector from point `number` to the next."""
        return self._bones[number]

    @cached_property
    def _bones(self) -> list[complex]:
        return [(b - a) / abs(b - a) for a, b in pairwise(self.points)]


def finger_chain(pose: Pose, digit: Digit) -> Chain:
    """Forearm, wrist and a finger's joints in this pose."""
    ray = RAYS[digit]
    points, heading = [complex(-FOREARM), 0j], 0.0
    for joint, length in zip(FINGER, (ray.knuckle, *ray.bones), strict=True):
        heading -= degrees_at(pose, joint)
        points.append(points[-1] + rect(length, radians(heading)))
    return Chain(("forearm", *FINGER, "tip"), tuple(points))


def thumb_chain(pose: Pose, hand: complex = 1 + 0j, shown: float = 1.0) -> Chain:
    """Wrist and the thumb's joints; `hand` is the unit vector of the palm.

    At 0 degrees the first bone goes on in the line from the wrist to the thumb's base. `shown`:
    the share of its length that shows where it points partly at the viewer.
    """
    points = [0j, hand * THUMB_BASE]
    heading = THUMB_BASE / abs(THUMB_BASE) * hand
    for joint, length in zip(THUMB, RAYS["thumb"].bones, strict=True):
        bent = pose.at(joint)
        heading *= rect(1, radians(-(THUMB_AT_REST[joint] if bent is None else bent)))
        points.append(points[-1] + heading * length * shown)
    return Chain(("wrist", *THUMB, "tip"), tuple(points))


def degrees_at(pose: Pose, joint: Joint) -> float:
    """Degrees towards bending: as prescribed, or those of a loose hand."""
    prescribed = pose.at(joint)
    return AT_REST[joint] if prescribed is None else prescribed


def between(start: Pose, end: Pose, share: float) -> Pose:
    """The pose a share of the way from start to end."""
    joints = dict.fromkeys((*dict(start.degrees), *dict(end.degrees)))
    return Pose(
        tuple((j, (1 - share) * degrees_at(start, j) + share * degrees_at(end, j)) for j in joints)
    )


@lru_cache(maxsize=KEPT)
def clearance(finger: Chain, thumb: Chain) -> float:
    """Least distance between the lines of a finger and a thumb past its base, mm."""
    ours, theirs = _dots(finger.points[2:]), _dots(thumb.points[1:])
    return float(np.abs(np.subtract.outer(ours, theirs)).min())


def _dots(points: tuple[complex, ...]) -> list[complex]:
    return [a + (b - a) * n / 6 for a, b in pairwise(points) for n in range(7)]
