"""Lines of several layers: fingers that a picture is not about, joint centres."""

from __future__ import annotations

from collections.abc import Collection

from . import body, worn
from .outline import Limb, smooth
from .scene import Scene
from .skeleton import Chain
from .svg import Pen


def faint_finger(pen: Pen, limb: Limb) -> None:
    """A finger that the picture is not about: a lighter line."""
    pen.curve("skin faint", body.digit_skin(limb, body.FINGER))
    pen.curve("nail faint", smooth(body.nail(limb)))
    pen.lines("crease faint", *body.creases(limb, body.FINGER + 1))


def others(pen: Pen, arm: Limb, scene: Scene) -> None:
    """The other fingers that a picture stands for, one behind the next, out of what is wound."""
    back, first, over = arm.chain.bone(body.FINGER) * 5.2j, body.FINGER, worn.reach(scene)
    if scene.worn in ("slab", "plaster") and over is not None:
        first = max(first, over[1][0] + 1)
    if first < len(arm.flesh):
        for behind in range(min(len(scene.digits), 3) - 1, 0, -1):
            pen.curve("skin faint", body.digit_behind(arm, first, back * behind))


def bones(pen: Pen, which: str, chains: list[Chain], pivots: Collection[str] = ()) -> None:
    """Joint centres and the bones between them; joints that a movement turns about are shown."""
    pen.open(f"bones {which}")
    for chain in chains:
        pen.lines("axis", chain.points)
        for name, point in zip(chain.names, chain.points, strict=True):
            if (name, chain.names[0]) != ("wrist", "wrist"):  # the arm has its own
                pen.dot(f"j {name}{' pivot' if name in pivots else ''}", point, 2)
    pen.close()
