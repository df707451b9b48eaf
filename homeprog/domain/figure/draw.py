"""From a scene to its picture."""

from __future__ import annotations

from functools import lru_cache
from hashlib import blake2s

from . import body
from .hand_model import FOREARM
from .scene import Scene
from .skeleton import Chain
from .svg import Pen, document

WIDE = 330.0  # mm across every picture, so that all of a course share one scale
FAR = FOREARM - 2  # mm from the wrist back to the edge that cuts the forearm


@lru_cache(maxsize=1024)
def draw(scene: Scene, title: str, description: str) -> str:
    """The picture of a scene as an SVG element; coordinates in mm, the wrist at 0 0."""
    pen = Pen(scene.side)
    _from_the_side(pen, scene)
    return document(pen, _frame(pen, scene), _key(scene, title, description), title, description)


def _key(scene: Scene, title: str, description: str) -> str:
    text = repr((scene, title, description)).encode()
    return "f" + blake2s(text, digest_size=6).hexdigest()


def _frame(pen: Pen, scene: Scene) -> tuple[float, float, float, float]:
    """The view box: one width for all, wider only where a pose needs it."""
    x0, y0, x1, y1 = pen.box()
    if scene.side == "left":
        return -FAR, y0 - 3, max(x1 + 3, WIDE - FAR), y1 + 3
    return min(x0 - 3, FAR - WIDE), y0 - 3, FAR, y1 + 3


def _from_the_side(pen: Pen, scene: Scene) -> None:
    hand = body.limb(scene.pose, scene.digits[0])
    pen.open("still")
    pen.curve("skin", body.arm_skin(hand))
    pen.curve("skin", body.digit_skin(hand, 2))
    pen.close()
    bones(pen, "start", hand.chain)


def bones(pen: Pen, which: str, chain: Chain) -> None:
    """Joint centres and the bones between them: what the outline was drawn round."""
    pen.open(f"bones {which}")
    pen.lines("axis", chain.points)
    for name, point in zip(chain.names, chain.points, strict=True):
        pen.dot(f"j {name}", point, 1.4)
    pen.close()
