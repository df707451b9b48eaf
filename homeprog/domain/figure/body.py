"""The drawn parts of a hand seen from the thumb's side: forearm and palm, a finger, the thumb."""

from __future__ import annotations

from cmath import rect
from functools import lru_cache
from math import radians

from ..course import Digit
from .hand_model import RAYS
from .outline import Flesh, Limb, at_joint, side, skin_at, smooth
from .scene import Pose
from .skeleton import KEPT, finger_chain, thumb_chain

# Half thicknesses of what the hand model does not give: by eye.
FOREARM_FLESH = Flesh(back=(25, 23, 20, 18), palm=(30, 27, 22, 19))
PALM_FLESH = Flesh(back=(17, 15, 13.5, 12), palm=(20, 25, 23, 15))
FINGER = 2  # bone of an arm's limb at which its finger begins
THUMB = 1  # bone of a thumb's limb at which it leaves the hand


@lru_cache(maxsize=KEPT)
def arm(pose: Pose, digit: Digit) -> Limb:
    """Forearm, palm and the finger that is drawn."""
    first, second, last = (depth / 2 for depth in RAYS[digit].depths)
    finger = (
        Flesh((12, first, first - 0.6, first), (14, first + 1.4, first + 0.8, first - 0.2)),
        Flesh((first, second - 0.2, second), (first - 0.2, second + 1, second)),
        Flesh((second, last - 0.2, last - 1.6), (second, last + 1, last + 0.4)),
    )
    return Limb(finger_chain(pose, digit), (FOREARM_FLESH, PALM_FLESH, *finger))


@lru_cache(maxsize=KEPT)
def thumb(pose: Pose, hand: complex, shown: float = 1.0) -> Limb:
    """The thumb from the wrist on; `hand` and `shown` as in skeleton.thumb_chain."""
    _, second, last = (depth / 2 for depth in RAYS["thumb"].depths)
    flesh = (
        Flesh((4, 4, 9), (7, 8, 11)),
        Flesh((9, 9.5, 9.5, 10), (11, 12.5, 12, 11)),
        Flesh((10, second, second - 0.3, second), (11, second + 0.6, second, second)),
        Flesh((second, last - 0.2, last - 1.2), (second, last + 1, last + 0.6)),
    )
    return Limb(thumb_chain(pose, hand, shown), flesh)


@lru_cache(maxsize=KEPT)
def arm_skin(limb: Limb) -> tuple[complex, ...]:
    """Forearm and palm: from the knuckle back along the palm side, and out along the back."""
    last = FINGER - 1
    palm = [limb.edge(0, 0, False), *side(limb, 0, last, up=False)]
    palm += at_joint(limb, last, up=False)[:2]
    back = [limb.edge(0, 0, True), *side(limb, 0, last, up=True)]
    back += at_joint(limb, last, up=True)[:2]
    under = smooth(palm[::-1])
    return (*under, *straight(under[-1], back[0]), *smooth(back)[1:])


@lru_cache(maxsize=KEPT)
def digit_skin(limb: Limb, first: int) -> tuple[complex, ...]:
    """A digit from the joint at the near end of bone `first`: back, tip, palm side."""
    last = len(limb.flesh) - 1
    back = at_joint(limb, first - 1, up=True)[1:] + side(limb, first, last, up=True)
    palm = at_joint(limb, first - 1, up=False)[1:] + side(limb, first, last, up=False)
    return tuple(smooth([*back, *_tip(limb), *palm[::-1]]))


@lru_cache(maxsize=KEPT)
def digit_behind(limb: Limb, first: int, away: complex) -> tuple[complex, ...]:
    """Back and tip of the same digit `away` behind it; it comes out of the hand at its base."""
    last = len(limb.flesh) - 1
    back = at_joint(limb, first - 1, up=True)[1:] + side(limb, first, last, up=True)
    base = limb.edge(first - 1, 0.82, True, -2)
    return tuple(smooth([base, *(point + away for point in (*back, *_tip(limb)[:4]))]))


def _tip(limb: Limb) -> list[complex]:
    """A round end: points from the back to the palm side."""
    bone, end = limb.chain.bone(len(limb.flesh) - 1), limb.chain.points[-1]
    back, palm = limb.flesh[-1].back[-1], limb.flesh[-1].palm[-1]
    radius = (back + palm) / 2
    centre = end - bone * radius + bone * 1j * (back - palm) / 2
    return [centre + radius * bone * rect(1, radians(a)) for a in (68, 30, -8, -45, -76)]


def straight(a: complex, b: complex) -> list[complex]:
    """A straight line as a curve's next three control points."""
    return [a + (b - a) / 3, a + (b - a) * 2 / 3, b]


def nail(limb: Limb) -> list[complex]:
    """The nail, as it shows from the side."""
    bone, end = limb.chain.bone(len(limb.flesh) - 1), limb.chain.points[-1]
    height = limb.flesh[-1].back[-1]
    places = ((11.5, 2.0), (6, 3.2), (1.2, 5.4))
    return [end - bone * along + bone * 1j * (height - deep) for along, deep in places]


def creases(limb: Limb, first: int) -> list[list[complex]]:
    """Short lines across the palm side of each joint from the near end of bone `first` on."""
    lines = []
    for bone in range(first - 1, len(limb.flesh) - 1):
        skin, joint = skin_at(limb, bone, up=False), limb.chain.points[bone + 1]
        lines.append([skin + (joint - skin) * 0.06, skin + (joint - skin) * 0.34])
    return lines
