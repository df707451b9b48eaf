"""The drawn parts of a hand: forearm and palm, a finger, the thumb."""

from __future__ import annotations

from cmath import rect
from dataclasses import dataclass
from math import radians

from ..course import Digit
from .hand_model import RAYS
from .outline import Flesh, side, skin_at, smooth
from .scene import Pose
from .skeleton import Chain, finger_chain, thumb_chain

# Half thicknesses of what the hand model does not give: by eye.
FOREARM = Flesh(back=(27, 24, 20, 18.5), palm=(31, 28, 22, 19))
PALM = Flesh(back=(17, 15.5, 14, 12.5), palm=(20, 25, 23, 16))


@dataclass(frozen=True, slots=True)
class Limb:
    """Forearm, palm and one finger in a pose, with their flesh."""

    chain: Chain
    flesh: tuple[Flesh, ...]


def limb(pose: Pose, digit: Digit) -> Limb:
    """The arm with the finger that is drawn from the side."""
    chain = finger_chain(pose, digit)
    return Limb(chain, (FOREARM, PALM, *_finger_flesh(digit)))


def thumb(pose: Pose, hand: complex) -> Limb:
    """The thumb from the wrist on; `hand` is the unit vector of the palm."""
    first, second, last = (depth / 2 for depth in RAYS["thumb"].depths)
    flesh = (
        Flesh((4, 4, 9), (8, 10, 14)),
        Flesh((9, 9.5, 9.5, 10), (15, 16, 13, 11)),
        Flesh((10, second, second - 0.3, second), (11, second + 0.6, second, second)),
        Flesh((second, last - 0.2, last - 1.2, 5), (second, last + 1, last + 0.6, 5)),
    )
    return Limb(thumb_chain(pose, hand), flesh)


def _finger_flesh(digit: Digit) -> tuple[Flesh, Flesh, Flesh]:
    first, second, last = (depth / 2 for depth in RAYS[digit].depths)
    return (
        Flesh((11, first - 0.3, first - 0.8, first), (13.5, first + 1.6, first + 0.6, first - 0.4)),
        Flesh((first, second - 0.5, second - 0.3), (first - 0.4, second + 0.8, second - 0.2)),
        Flesh((second, last - 0.4, last - 1.6), (second, last + 0.9, last + 0.3)),
    )


def arm_skin(limb: Limb) -> list[complex]:
    """Forearm and palm: from the knuckle's palm side back along the palm, and along the back."""
    chain, flesh = limb.chain, limb.flesh
    start, down = chain.points[0], -1j * chain.bone(0)
    palm = [start + down * flesh[0].palm[0], *side(chain, flesh, 0, 1, up=False)]
    back = [start - down * flesh[0].back[0], *side(chain, flesh, 0, 1, up=True)]
    knuckle = chain.points[2] + chain.bone(1) * 1j * flesh[1].back[-1]
    crease = skin_at(chain, flesh, 1, up=False)
    assert crease is not None
    edge = smooth([crease, *reversed(palm)])
    return [*edge, *_straight(edge[-1], back[0]), *smooth([*back, knuckle])[1:]]


def digit_skin(limb: Limb, first: int) -> list[complex]:
    """A digit from the joint at the near end of bone `first`: back, tip, palm side."""
    chain, flesh = limb.chain, limb.flesh
    last = len(flesh) - 1
    joint, before = chain.points[first], chain.bone(first - 1)
    knuckle = joint + before * 1j * flesh[first - 1].back[-1]
    top, under = skin_at(chain, flesh, first - 1, True), skin_at(chain, flesh, first - 1, False)
    assert top is not None and under is not None
    return smooth(
        [
            knuckle, top,
            *side(chain, flesh, first, last, up=True),
            *_tip(chain, flesh[-1]),
            *reversed(side(chain, flesh, first, last, up=False)),
            under,
        ]
    )  # fmt: skip


def _tip(chain: Chain, flesh: Flesh) -> list[complex]:
    """A round end: five points from back to palm side."""
    bone, end = chain.bone(len(chain.points) - 2), chain.points[-1]
    radius = (flesh.back[-1] + flesh.palm[-1]) / 2
    centre = end - bone * radius + bone * 1j * (flesh.back[-1] - flesh.palm[-1]) / 2
    return [centre + radius * bone * rect(1, radians(a)) for a in (68, 30, -8, -45, -76)]


def _straight(a: complex, b: complex) -> list[complex]:
    return [a + (b - a) / 3, a + (b - a) * 2 / 3, b]


def nail(limb: Limb) -> list[complex]:
    """The nail, as it shows from the side."""
    bone, end = limb.chain.bone(len(limb.chain.points) - 2), limb.chain.points[-1]
    up = bone * 1j
    height = limb.flesh[-1].back[-1]
    return [
        end - bone * 11 + up * (height - 2.2),
        end - bone * 5 + up * (height - 3.6),
        end - bone * 0.6 + up * (height - 5.2),
    ]


def creases(limb: Limb, first: int) -> list[list[complex]]:
    """Short lines across the palm side of each joint from the near end of bone `first` on."""
    lines = []
    for number in range(first - 1, len(limb.flesh) - 1):
        skin = skin_at(limb.chain, limb.flesh, number, up=False)
        if skin is not None:
            joint = limb.chain.points[number + 1]
            lines.append([skin, skin + (joint - skin) * 0.36])
    return lines
