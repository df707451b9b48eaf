"""What is worn, drawn over the hand: splint, slab, plaster, sling with its band, yoke."""

from __future__ import annotations

from collections.abc import Iterator

from ..course import Joint, Worn
from . import shell
from .outline import Limb
from .scene import Pose, Scene
from .svg import Pen

Place = tuple[int, float]  # bone, share of the way along it

FINGER_STARTS: dict[Joint, Place] = {
    "wrist": (0, 0.16), "MCP": (1, 0.2), "PIP": (2, 0.16), "DIP": (3, 0.12),
}  # fmt: skip
FINGER_ENDS: dict[Joint, Place] = {
    "DIP": (4, 1.12), "PIP": (3, 0.82), "MCP": (2, 0.86), "wrist": (1, 0.8),
}  # fmt: skip
THUMB_STARTS: dict[Joint, Place] = {"CMC": (1, 0.02), "MCP": (1, 0.3), "IP": (2, 0.16)}
THUMB_BASE: Place = (1, -0.02)  # where a thumb's piece joins that of the hand
THUMB_ENDS: dict[Joint, Place] = {"IP": (3, 1.1), "MCP": (2, 0.84), "CMC": (1, 0.86)}
FINGER_STRAPS: tuple[Place, ...] = ((0, 0.34), (0, 0.8), (1, 0.58), (2, 0.5), (3, 0.55))
THUMB_STRAPS: tuple[Place, ...] = ((1, 0.5), (2, 0.5), (3, 0.5))
HAND_ALONE: tuple[Place, Place] = (
    (1, 0.14),
    (1, 0.82),
)  # of a short splint: the wrist is free
WALL_AT = 0.2  # the trough's upper edge, as a share of the half thickness


def reach(scene: Scene) -> tuple[Place, Place] | None:
    """From where to where on the arm it goes: over the joints it holds and no others."""
    held = {joint for joint in scene.held if joint == "wrist" or scene.digits[0] != "thumb"}
    held |= {joint for joint, _ in scene.plate}
    over = _between(held, FINGER_STARTS, FINGER_ENDS)
    return HAND_ALONE if over is None and scene.worn == "sling" else over


def thumb_reach(scene: Scene) -> tuple[Place, Place] | None:
    """The same on the thumb; behind a drawn finger a thumb that is held is held whole."""
    if scene.digits[0] == "thumb":
        over = _between(set(scene.held), THUMB_STARTS, THUMB_ENDS)
        joined = over is not None and "wrist" in scene.held and scene.worn != "sling"
        return (THUMB_BASE, over[1]) if over and joined else over
    held_too = "thumb" in scene.holds and bool(scene.held) and scene.worn != "yoke"
    return (THUMB_BASE, THUMB_ENDS["IP"]) if held_too else None


def _between(
    held: set[Joint], starts: dict[Joint, Place], ends: dict[Joint, Place]
) -> tuple[Place, Place] | None:
    start = next((place for joint, place in starts.items() if joint in held), None)
    end = next((place for joint, place in ends.items() if joint in held), None)
    return (start, end) if start and end else None


def has_hole(scene: Scene) -> bool:
    """Whether what is worn lets a free thumb out of a hole."""
    along_palm = scene.worn != "sling" or scene.purpose == "open_splint"
    return along_palm and reach(scene) is not None and thumb_reach(scene) is None


def splinted(scene: Scene, pose: Pose) -> Pose:
    """The pose of what is worn: under a joint left free it stays where that joint bends most."""
    at = dict(pose.degrees)
    for joint, degrees in scene.pose.degrees:
        if joint not in scene.held and joint != "wrist":
            at[joint] = max(degrees, (scene.motion.end.at(joint) or 0) if scene.motion else degrees)
    for joint, _, bent in scene.free:
        if joint != "wrist":
            at[joint] = max(at.get(joint, bent), bent)
    at.update(scene.plate)
    return Pose(tuple(at.items()))


def splint(
    pen: Pen, limb: Limb, over: tuple[Place, Place], straps: tuple[Place, ...], up: bool
) -> None:
    """A trough along the palm side (or, `up`, along the back) with straps at these places."""
    pen.open("worn splint")
    pen.curve("shell", shell_of(limb, over, up), shut=True)
    for bone, way in straps:
        pen.lines("strap", shell.strap(limb, bone, way, up, WALL_AT), shut=True)
    pen.close()


def shell_of(limb: Limb, over: tuple[Place, Place], up: bool) -> tuple[complex, ...]:
    """The outline of such a trough."""
    return shell.trough(shell.cut(limb, *over), up, WALL_AT)


def thumb_piece(
    pen: Pen, limb: Limb, over: tuple[Place, Place], kind: Worn, straps: bool = True
) -> None:
    """The thumb's own piece, one with the rest where it starts at the thumb's base."""
    places = tuple(_inside(over, THUMB_STRAPS)) if straps else ()
    pen.open(f"worn {'plaster' if kind == 'plaster' else 'slab' if kind == 'slab' else 'splint'}")
    part = shell.cut(limb, *over)
    if kind in ("plaster", "slab"):
        thick = 6.0 if kind == "plaster" else 5.0
        _sleeve(pen, limb, over, kind, thick)
        if kind == "slab":
            pen.lines("turn", *shell.turns(part, thick, thick, 9.0, 11.0))
    else:
        if over[0] == THUMB_BASE:
            _ring(pen, limb)
            over = ((1, 0.3), over[1])
        pen.curve("shell", shell_of(limb, over, False), shut=True)
        for bone, way in places:
            pen.lines("strap", shell.strap(limb, bone, way, False, WALL_AT), shut=True)
    pen.close()


def collar(pen: Pen, limb: Limb, kind: Worn) -> None:
    """The rim of the hole that lets a free thumb out."""
    pen.open("worn rim")
    if kind in ("plaster", "slab"):
        _sleeve(pen, limb, (THUMB_BASE, (1, 0.42)), kind, 5.0)
    else:
        _ring(pen, limb)
    pen.close()


def _ring(pen: Pen, limb: Limb) -> None:
    """The rim of a hole in a splint, round the thumb's base."""
    pen.curve("shell", shell.wrap(shell.cut(limb, (1, 0.0), (1, 0.36)), 2.5, 2.5), shut=True)


def _sleeve(pen: Pen, limb: Limb, over: tuple[Place, Place], kind: Worn, thick: float) -> None:
    """Round the thumb: a plaster's grows out of the rest, a slab's shuts over its stiff layer."""
    (bone, _), end = over
    if kind == "slab":
        pen.curve("wrap", shell.wrap(shell.cut(limb, *over), thick, thick), shut=True)
        return
    pen.curve("wrap inner", shell.wrap_sides(shell.cut(limb, *over), thick))
    pen.curve("wrap", shell.wrap_sides(shell.cut(limb, (bone, 0.06), end), thick))


def strapped(scene: Scene) -> tuple[Place, ...]:
    """Where along an arm it has its straps: none beyond a joint that it leaves free to move."""
    over = reach(scene)
    if over is None:
        return ()
    joints: tuple[Joint, ...] = ("wrist", "MCP", "PIP", "DIP")
    first = over[0][0]
    free = next((n for n, joint in enumerate(joints) if n >= first and joint not in scene.held), 9)
    return tuple(each for each in _inside(over, FINGER_STRAPS) if each[0] <= max(free, first))


def bandage(pen: Pen, limb: Limb, over: tuple[Place, Place]) -> None:
    """A slab under a bandage: wound all round, the stiff layer showing along the palm side."""
    part = shell.cut(limb, *over)
    pen.open("worn slab")
    pen.curve("wrap", shell.wrap(part, 4.0, 7.5), shut=True)
    pen.curve("stiff", shell.trough(part, False, 0.72), shut=True)
    pen.lines("turn", *shell.turns(part, 4.0, 7.5, 9.0, 13.0))
    pen.close()


def plaster(pen: Pen, limb: Limb, over: tuple[Place, Place]) -> None:
    """A closed plaster: thick all round, dotted, its padding showing at both ends."""
    (first, start), (last, end) = over
    pen.open("worn plaster")
    pad = shell.cut(limb, (first, start - 0.05), (last, end + 0.06))
    pen.curve("pad", shell.wrap(pad, 3.0, 3.0), shut=True)
    part = shell.cut(limb, *over)
    pen.curve("wrap", shell.wrap(part, 6.5, 6.5), shut=True)
    pen.lines("grain", *(run for bone in range(len(part.flesh)) for run in _grain(part, bone)))
    pen.close()


def _grain(part: Limb, bone: int) -> Iterator[list[complex]]:
    """Dots in four rows along a bone."""
    start, end = part.chain.points[bone : bone + 2]
    way, length = part.chain.bone(bone), abs(end - start)
    for row, height in enumerate((-0.75, -0.25, 0.25, 0.75)):
        for n in range(int(length / 12) + 1):
            along = 4 + 12 * n + 6 * (row % 2)
            if along < length - 2:
                at = part.edge(bone, along / length, height > 0)
                axis = start + way * along
                dot = axis + (at - axis) * abs(height)
                yield [dot, dot + 0.05]


def _inside(over: tuple[Place, Place], places: tuple[Place, ...]) -> Iterator[Place]:
    """The places that lie well within a reach."""
    (first, start), (last, end) = over
    for bone, way in places:
        if (first, start + 0.14) <= (bone, way) <= (last, end - 0.14):
            yield bone, way
