"""How long and how thick the parts of the drawn hand are, in mm.

Lengths are fractions of hand length and hand breadth: Buchholz, Armstrong, Goldstein 1992
('Anthropometric data for describing the kinematics of the human hand', Ergonomics 35:261) and,
for the first phalanx of a finger, An, Chao, Cooney, Linscheid 1979 ('Normative model of human
hand for biomechanical analysis', J Biomech 12:775). Neither paper was read: the figures were
read in an open hand model that names them beside each line (SanchoHandKinematicModel.h).
Thicknesses are that file's own measurements.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from ..course import Digit

LENGTH = 189.0  # mm from wrist to the tip of the middle finger; value from memory
BREADTH = 84.0  # mm across the big knuckles; value from memory
FOREARM = 100.0  # mm of forearm that a picture shows; the drawing's own
BASE = 0.073 * LENGTH  # mm from the wrist to where the bones of the palm begin


@dataclass(frozen=True, slots=True)
class Ray:
    """One digit, from the base of its palm bone to its tip. All in mm."""

    aside: float  # knuckle beside the middle finger's, towards the thumb
    knuckle: float  # wrist to big knuckle along the hand; thumb: wrist to its base
    bones: tuple[float, ...]  # from the knuckle on; thumb: from its base on
    depths: tuple[float, ...]  # thickness of each of them
    splay: float = 0.0  # degrees away from the middle finger, seen from the back; by eye


def _finger(
    across: tuple[float, float], palm: float, middle: float, first: float, last: float,
    depths: tuple[float, float, float], splay: float,
) -> Ray:  # fmt: skip
    bones = (middle * first * LENGTH, middle * LENGTH, last * LENGTH)
    return Ray(
        aside=sum(across) * BREADTH,
        knuckle=BASE + palm * LENGTH,
        bones=bones,
        depths=tuple(depth * BREADTH for depth in depths),
        splay=splay,
    )


RAYS: dict[Digit, Ray] = {
    "thumb": Ray(
        aside=0.196 * BREADTH,
        knuckle=BASE,
        bones=(0.251 * LENGTH, 0.196 * LENGTH, 0.158 * LENGTH),
        depths=(0.300 * BREADTH, 0.229 * BREADTH, 0.212 * BREADTH),
    ),
    "index": _finger(
        (0.126, 0.126), 0.374, 0.143, (1.94 + 0.45) / 1.29, 0.097, (0.229, 0.198, 0.176), 5
    ),
    "middle": _finger(
        (0.0, 0.0), 0.373, 0.170, (1.62 + 0.37) / 1.22, 0.108, (0.216, 0.197, 0.180), 0
    ),
    "ring": _finger(
        (-0.129, -0.077), 0.336, 0.165, (1.56 + 0.34) / 1.21, 0.107, (0.203, 0.182, 0.168), -5
    ),
    "small": _finger(
        (-0.223, -0.179), 0.295, 0.117, (1.78 + 0.49) / 1.29, 0.093, (0.183, 0.165, 0.149), -12
    ),
}


def reach(digit: Digit) -> float:
    """Wrist to tip, all straight, in mm."""
    ray = RAYS[digit]
    return hypot(ray.knuckle, ray.aside) + sum(ray.bones)
