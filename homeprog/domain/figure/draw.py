"""From a scene to its picture."""

from __future__ import annotations

from functools import lru_cache
from hashlib import blake2s

from .back import fingers
from .hand_model import FOREARM
from .scene import Scene
from .sideways import Sideways
from .svg import Box, Path, Pen, document

WIDE = 320.0  # mm across every picture, so that all of a course share one scale
CUT = 8.0  # mm that they go on at most
BETWEEN = 26.0  # mm between the drawings of a strip
FAR = FOREARM - 2  # mm from the wrist back to the edge that cuts the forearm


@lru_cache(maxsize=1024)
def draw(scene: Scene, title: str, description: str) -> str:
    """The picture of a scene as an SVG element; coordinates in mm, the wrist at 0 0.

    Fingers point right for the left hand and left for the right: each as its own thumb's side
    shows it. What a reader of the coordinates can rely on:

    - `<g class="bones start">` (the pose), `bones end` (where it goes) and `bones beside` (the
      finger next to it in a yoke) hold a `<circle class="j NAME">` for each joint centre: forearm,
      wrist, MCP, PIP, DIP, tip; of a thumb: forearm, wrist, knuckle, CMC, MCP, IP, tip. A joint's
      angle is the turn there between the bones on either side, towards the palm; the wrist's of a
      thumb from forearm-wrist to wrist-knuckle, the base's from wrist-CMC to CMC-MCP.
    - `<path class="arc there WHO">` and `arc back WHO`: their first and last points lie where the
      bone beyond the joint starts and ends; `<path class="limit">` is a line away from the joint.
    - What is forbidden is the pose `start`; `<path class="edge">` is a line away from its joint at
      the most that is allowed, and `<path class="past">` the arc from there to the pose.
    """
    pen, key = Pen(scene.side), key_of(scene, title, description)
    if scene.purpose == "fingers":
        fingers(pen, scene)
    else:
        Sideways(scene).whole(pen, key)
    name = "figure moves" if scene.motion else "figure"
    return document(pen.parts, _frame(pen, scene), key, name, (title, description))


@lru_cache(maxsize=256)
def strip(scene: Scene, title: str, description: str) -> str:
    """Three drawings side by side for paper: start, halfway, end. Without movement, as `draw`."""
    if scene.motion is None or scene.purpose == "fingers":
        return draw(scene, title, description)
    whole, sideways = Pen(scene.side), Sideways(scene)
    for number in range(3):
        pen = Pen(scene.side, complex(number * (WIDE + BETWEEN)))
        sideways.part(pen, number)
        whole.include(pen, ['<g class="frame">', *pen.parts, "</g>"])
        if number:
            before = FAR if scene.side == "left" else WIDE - FAR
            whole.include(pen, [_step(number * (WIDE + BETWEEN) - before - BETWEEN / 2)])
    x0, y0, x1, y1 = whole.box()
    key = "s" + key_of(scene, title, description)
    box = (x0 - 2, y0 - 3, x1 + 3, y1 + 3)
    return document(whole.parts, box, key, "figure strip", (title, description))


def _step(x: float) -> Path:
    """An arrow head in the gap between two drawings of a strip, at so many mm across."""
    return Path("step", f"M{x - 4:.1f} -8L{x + 5:.1f} 0L{x - 4:.1f} 8Z")


def key_of(scene: Scene, title: str, description: str) -> str:
    """A name for a picture by its content: no two that differ share it."""
    text = repr((scene, title, description)).encode()
    return "f" + blake2s(text, digest_size=6).hexdigest()


def _frame(pen: Pen, scene: Scene) -> Box:
    """The view box: one width for all, wider only where a pose needs it.

    Its edge cuts the forearm, and a pillow, which go on a little past it.
    """
    x0, y0, x1, y1 = pen.box()
    if scene.purpose == "fingers":
        middle = 12 if scene.side == "left" else -12
        return middle - WIDE / 2, y0 - 3, middle + WIDE / 2, y1 + 3
    near, far = (x0, x1) if scene.side == "left" else (-x1, -x0)
    edge = near - 3 if near < -FAR - CUT else -FAR
    end = max(far + 3, WIDE - FAR)
    left, right = (edge, end) if scene.side == "left" else (-end, -edge)
    return left, y0 - 3, right, y1 + 3
