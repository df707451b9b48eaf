"""What pulls or props a finger: the band over its outrigger, and the yoke."""

from __future__ import annotations

from ..course import Joint
from . import shell
from .outline import Limb
from .scene import Scene
from .svg import Pen

HIGH = 44.0  # mm from the finger up to the wheel
BEYOND: dict[Joint, int] = {"MCP": 2, "PIP": 3, "DIP": 4}  # joint -> the bone it moves
BEYOND_THUMB: dict[Joint, int] = {"CMC": 1, "MCP": 2, "IP": 3}


def sling(pen: Pen, scene: Scene, arm: Limb, limb: Limb, start: Limb) -> None:
    """Wire, wheel, band and sling. `limb` has the pulled digit, `start` that digit at its start.

    The band pulls square to the bone where the movement begins.
    """
    bone, way = _pulled(scene), 0.55
    wheel = start.edge(bone, way, True, HIGH)
    base = arm.edge(1, 0.62, True, shell.WALL)
    knee = base + (wheel - base) * 0.12 + arm.chain.bone(1) * 1j * 20
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
    part = shell.cut(beside, (2, 0.4), (2, 1.0))
    pen.open("worn yoke")
    pen.curve("shell", shell.trough(part, True, -0.1), shut=True)
    pen.close()


def yoke_under(pen: Pen, limb: Limb) -> None:
    """The part of a yoke that props the first bone of the mended finger from below."""
    part = shell.cut(limb, (2, 0.22), (2, 0.8))
    pen.open("worn yoke")
    pen.curve("shell", shell.trough(part, False, -0.1), shut=True)
    pen.close()
