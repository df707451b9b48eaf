"""What pulls or props a finger: the band over its outrigger, and the yoke."""

from __future__ import annotations

from cmath import rect
from math import radians

from ..course import Joint
from . import body, shell
from .outline import Flesh, Limb, smooth
from .ranges import FINGERS
from .scene import Scene
from .skeleton import Chain
from .svg import Pen

HIGH = 44.0  # mm from the finger up to the wheel
HIGH_THUMB = 27.0  # mm, the same for a thumb: its fingers lie above
BEYOND: dict[Joint, int] = {"MCP": 2, "PIP": 3, "DIP": 4}  # joint -> the bone it moves
BEYOND_THUMB: dict[Joint, int] = {"CMC": 1, "MCP": 2, "IP": 3}


def sling(pen: Pen, scene: Scene, arm: Limb, limb: Limb, start: Limb) -> None:
    """Wire, wheel, band and sling. `limb` has the pulled digit, `start` that digit at its start.

    The band pulls square to the bone where the movement begins.
    """
    bone, way = _pulled(scene), 0.55
    of_thumb = scene.digits[0] == "thumb"
    wheel = start.edge(bone, way, True, HIGH_THUMB if of_thumb else HIGH)
    base = start.edge(2, 0.42, True) if of_thumb else arm.edge(1, 0.62, True, shell.WALL)
    up = start.chain.bone(1) * 15j if of_thumb else arm.chain.bone(1) * 20j
    knee = base + (wheel - base) * 0.12 + up
    pen.open("worn sling-and-band")
    pen.lines("wire", [base, knee, wheel])
    _rubber(pen, limb.edge(bone, way, True, 1.0), wheel)
    loop(pen, "sling", scene, limb)
    pen.dot("wheel", wheel, 3.2)
    pen.close()


def loop(pen: Pen, name: str, scene: Scene, limb: Limb) -> None:
    """The loop of leather round the pulled bone."""
    pen.lines(name, _round_the_bone(limb, _pulled(scene), 0.55), shut=True)


def _pulled(scene: Scene) -> int:
    """The bone that the band pulls: beyond the furthest joint it straightens."""
    beyond = BEYOND_THUMB if scene.digits[0] == "thumb" else BEYOND
    return max((beyond[joint] for joint in scene.band if joint in beyond), default=2)


def _rubber(pen: Pen, low: complex, high: complex) -> None:
    """A band that reads as elastic: straight ends, a close zigzag between."""
    way = high - low
    across = way / abs(way) * 1j * 2.3
    waves = [low + way * (0.2 + 0.06 * n) + across * (1 if n % 2 else -1) for n in range(11)]
    pen.lines("rubber", [low, low + way * 0.18, *waves, low + way * 0.84, high])


def _round_the_bone(limb: Limb, bone: int, way: float) -> list[complex]:
    half = 5.0 / abs(limb.chain.points[bone + 1] - limb.chain.points[bone])
    return [
        limb.edge(bone, way - half, True, 1.2), limb.edge(bone, way + half, True, 1.2),
        limb.edge(bone, way + half, False, 1.6), limb.edge(bone, way - half, False, 1.6),
    ]  # fmt: skip


def yoke_over(pen: Pen, beside: Limb) -> None:
    """The part of a yoke that lies over the first bone of the finger beside."""
    _yoke(pen, beside, True)


def yoke_under(pen: Pen, limb: Limb) -> None:
    """The part of a yoke that props the first bone of the mended finger from below."""
    _yoke(pen, limb, False)


def _yoke(pen: Pen, limb: Limb, up: bool) -> None:
    part = shell.cut(limb, (2, 0.34), (2, 0.84))
    pen.open("worn yoke")
    pen.curve("shell", shell.trough(part, up, 0.72), shut=True)
    pen.close()


TIP, APART, RAISED = 13.0, 33.0, 14.0  # mm: radius, distance and rise of fingers seen end on


def yoke_end_on(pen: Pen, scene: Scene) -> None:
    """Beside the hand: its fingers seen end on, with the yoke under the mended, over the others."""
    at = [FINGERS.index(digit) for digit in scene.holds if digit in FINGERS]
    row = range(max(min(at) - 1, 0), min(max(at) + 2, len(FINGERS)))
    low = -pen.box()[1] + 4
    middles = [
        complex(-68 + APART * n, low + TIP + (RAISED if each in at else 0))
        for n, each in enumerate(row)
    ]
    band = [middles[0] - TIP - 6 + 2j]
    for each, middle in zip(row, middles, strict=True):
        band.append(middle + (TIP + 3) * (-1j if each in at else 1j))
    pen.open("worn end-on")
    for each, middle in zip(row, middles, strict=True):
        pen.dot("skin chosen" if each in at else "skin", middle, TIP)
        arc = [middle + (TIP - 3) * rect(1, radians(a)) for a in (140, 90, 40)]
        pen.curve("nail", smooth(arc))
    line = smooth([*band, middles[-1] + TIP + 6 + 2j])
    pen.curve("yoke-edge", line)
    pen.curve("yoke-band", line)
    pen.close()


def other_hand(pen: Pen, limb: Limb, joint: str, bends: bool) -> None:
    """A finger of the other hand that pushes the bone beyond a joint."""
    bone = min(limb.chain.names.index(joint) + 1, len(limb.flesh) - 1)
    touch = limb.edge(bone, 0.5, bends, 0.5)
    way = limb.chain.bone(bone) * (1j if bends else -1j) * rect(1, 0.3 if bends else -0.3)
    points = tuple(touch + way * far for far in (92, 60, 24, 0))
    flesh = (
        Flesh((9, 9), (9, 9)),
        Flesh((9, 8.4, 8.6), (9, 8.6, 8.2)),
        Flesh((8.4, 8, 7), (8, 8.4, 7.6)),
    )
    other = Limb(Chain(("far", "near", "end", "tip"), points), flesh)
    pen.open("other-hand")
    pen.curve("skin", body.digit_skin(other, 1))
    pen.curve("nail", smooth(body.nail(other)))
    pen.close()
