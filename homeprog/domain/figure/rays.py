"""The digits as they lie seen from the back of the hand."""

from __future__ import annotations

from cmath import rect
from dataclasses import dataclass
from math import radians

from ..course import Digit
from .hand_model import RAYS
from .outline import width_at

THUMB_SLANT = (-47.0, -40.0, -33.0)  # degrees of its bones from the hand's line


@dataclass(frozen=True, slots=True)
class Bar:
    """One digit from its knuckle (the thumb: from its base) to its tip, with half widths."""

    points: tuple[complex, ...]  # mm
    widths: tuple[float, ...]  # at each point

    def at(self, place: float) -> tuple[complex, complex, float]:
        """(point, unit vector, half width) at bone + share of the way along it."""
        bone = min(int(place), len(self.points) - 2)
        start, end = self.points[bone : bone + 2]
        width = width_at(self.widths[bone : bone + 2], place - bone)
        return start + (end - start) * (place - bone), (end - start) / abs(end - start), width

    def side(self, place: float, left: bool, more: float = 0.0) -> complex:
        """A point of the digit's edge."""
        point, way, width = self.at(place)
        return point + way * (1j if left else -1j) * (width + more)


def bar(digit: Digit) -> Bar:
    """A digit as it lies seen from the back."""
    ray = RAYS[digit]
    if digit == "thumb":
        points, slants = [complex(ray.aside, ray.knuckle)], THUMB_SLANT
    else:
        points = [complex(ray.aside, ray.knuckle)]
        slants = (-ray.splay,) * 3
    for length, slant in zip(ray.bones, slants, strict=True):
        points.append(points[-1] + rect(length, radians(90 + slant)))
    first, second, last = (depth / 2 for depth in ray.depths)
    return Bar(tuple(points), (first, (first + second) / 2, second, last - 1.4))
