"""Scenes no shipped regime has: all that can be worn, the thumb, trouble, what is forbidden."""

from __future__ import annotations

from collections.abc import Mapping

from homeprog.domain.course import Joint
from homeprog.domain.figure import Motion, Pose, Scene

HAND: tuple[Joint, ...] = ("wrist", "MCP", "PIP", "DIP")
THUMB: tuple[Joint, ...] = ("wrist", "CMC", "MCP", "IP")


def pose(*degrees: float, thumb: bool = False) -> Pose:
    """Degrees towards bending at wrist, MCP, PIP, DIP (thumb: wrist, CMC, MCP, IP)."""
    return Pose(tuple(zip(THUMB if thumb else HAND, degrees, strict=False)))


def scenes() -> Mapping[str, Scene]:
    """By name."""
    back, thumb_up = pose(-30, 0, 0, 0), pose(-35, -10, 0, 0, thumb=True)
    return {
        "splint to the finger tips": _scene(back, "splint", HAND),
        "splint to the end joints": _scene(pose(-30, 20), "splint", HAND[:2]),
        "wrist splint": _scene(pose(-30), "splint", HAND[:1]),
        "hand splint, wrist free": _scene(pose(0, 20), "splint", ("MCP",)),
        "slab": _scene(pose(-37.5, 20), "slab", HAND[:2]),
        "slab with the thumb": _scene(pose(-37.5, 20), "slab", HAND[:2], holds=("thumb", "index")),
        "plaster": _scene(pose(-30, 20), "plaster", HAND[:2]),
        "plaster to the finger tips": _scene(back, "plaster", HAND),
        "yoke": _scene(
            pose(-15, 0, 5, 5), "yoke", (), digits=("middle",), holds=("middle",),
            neighbours=pose(-15, 20, 10, 8),
        ),
        "yoke with a wrist splint": _scene(
            pose(-20, 0, 5, 5), "yoke", ("wrist",), digits=("middle",), holds=("middle",),
            neighbours=pose(-20, 20, 10, 8),
        ),
        "thumb splint": _scene(thumb_up, "splint", THUMB, digits=("thumb",), holds=("thumb",)),
        "thumb plaster": _scene(thumb_up, "plaster", THUMB, digits=("thumb",), holds=("thumb",)),
        "thumb with a band": _scene(
            thumb_up, "sling", ("wrist", "CMC"), digits=("thumb",), band=("IP",),
            purpose="exercise",
            motion=Motion(pose(-35, -10, 0, 60, thumb=True), "IP", 60, "patient", "band"),
        ),
        "thumb bends": _scene(
            thumb_up, None, (), digits=("thumb",), purpose="exercise",
            motion=Motion(pose(-35, 10, 40, 60, thumb=True), "CMC", None, "patient", "patient"),
        ),
        "hook": _scene(
            back, None, (), purpose="exercise",
            motion=Motion(pose(-30, 0, 90, 60), "PIP", None, "patient", "patient"),
        ),
        "moved by the other hand": _scene(
            back, None, (), purpose="exercise",
            motion=Motion(pose(-30, 60, 0, 0), "MCP", 60, "other_hand", "patient"),
        ),
        "forbidden fist": _scene(
            pose(-15, 90, 100, 70), None, (), purpose="forbidden",
            prescribed=(("MCP", 20, 20), ("PIP", 0, 0), ("DIP", 0, 0)),
        ),
        "forbidden bent wrist": _scene(
            pose(60, 0, 0, 0), None, (), purpose="forbidden", prescribed=(("wrist", -45, -30),)
        ),
        "pillow": _scene(pose(-37.5, 20), None, (), purpose="pillow"),
        "pillow, bent wrist": _scene(pose(20, 60, 20, 10), None, (), purpose="pillow"),
        "open splint": _scene(pose(-37.5, 20), "splint", HAND[:2], purpose="open_splint"),
        "open slab": _scene(pose(-37.5, 20), "slab", HAND[:2], purpose="open_splint"),
        "which fingers": Scene(
            "fingers", "left", ("index", "middle"), Pose(()), worn="splint",
            holds=("index", "middle", "ring", "small"), repaired=("middle",), zone="VI",
        ),
        "which thumb": Scene(
            "fingers", "left", ("thumb",), Pose(()), worn="splint", holds=("thumb",),
            repaired=("thumb",), zone="TIII",
        ),
    }  # fmt: skip


def _scene(at: Pose, worn: object, held: tuple[Joint, ...], **more: object) -> Scene:
    plain: dict[str, object] = {"purpose": "position", "side": "left", "digits": ("index",)}
    return Scene(**(plain | {"pose": at, "worn": worn, "held": held} | more))  # type: ignore[arg-type]
