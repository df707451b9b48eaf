"""What lies round the hand: the pillow under it, the straps undone, the sign that forbids."""

from __future__ import annotations

from cmath import rect
from math import radians

from . import shell
from .motion import Way, head
from .outline import Limb, side, smooth
from .svg import Pen

DEEP = 42.0  # mm, least thickness of the pillow
STRUCK = 76.0  # mm, least length of an arrow that is crossed out
CROSS = 13.0  # mm, half the length of the strokes that cross an arrow out


def pillow(pen: Pen, limb: Limb) -> None:
    """A pillow, seen whole, that bears forearm, palm and finger as they lie."""
    part, last = shell.cut(limb, (0, 0.3), (len(limb.flesh) - 1, 0.9)), len(limb.flesh) - 1
    top = [part.edge(0, 0, False, -2), *side(part, 0, last, False), part.edge(last, 1, False, -2)]
    top = [p for n, p in enumerate(top) if n == 0 or p.real > max(q.real for q in top[:n]) + 4]
    floor = min(p.imag for p in top) - DEEP
    left, right = top[0] - 11 - 3j, complex(max(p.real for p in top) + 26, top[-1].imag + 4)
    low_left, low_right = complex(left.real - 2, floor), complex(right.real + 3, floor)
    middle = (low_left + low_right) / 2 - 5j
    over = smooth([left, *top, top[-1] + 12 - 3j, right])
    pen.open("pillow")
    pen.curve("cushion", [
        *over, *_bulge(right, low_right, 5), *smooth([low_right, middle, low_left])[1:],
        *_bulge(low_left, left, 3),
    ], shut=True)  # fmt: skip
    for corner, inward in (
        (left, 1 - 0.9j), (right, -1 - 0.9j), (low_left, 1 + 0.7j), (low_right, -1 + 0.7j),
    ):  # fmt: skip
        for lean in (0.28, -0.28):
            pen.lines("tuck", [corner + inward * rect(4, lean), corner + inward * rect(14, lean)])
    pen.close()


def _bulge(a: complex, b: complex, deep: float) -> list[complex]:
    """From corner a to corner b, drawn in at the corners and swelling between."""
    out = (b - a) / abs(b - a) * 1j
    middle = (a + b) / 2 + out * deep
    return smooth([a, a + (b - a) * 0.15 - out * 2, middle, b - (b - a) * 0.15 - out * 2, b])[1:]


def undone(pen: Pen, limb: Limb, places: tuple[tuple[int, float], ...]) -> None:
    """Straps laid open behind the arm, curling away from it."""
    pen.open("worn undone")
    for bone, way in places:
        half = shell.STRAP / abs(limb.chain.points[bone + 1] - limb.chain.points[bone])
        along = limb.chain.bone(bone)
        a, b = (limb.edge(bone, way + s, True, -3) for s in (-half, half))
        rise, curl = along * (17j - 2), along * (25j - 15)
        pen.curve("strap", [
            *smooth([a, a + rise, a + curl]), *_to(a + curl, b + curl + along * 6j),
            *smooth([b + curl + along * 6j, b + rise + along * 3j, b])[1:],
        ], shut=True)  # fmt: skip
        middle = (a + b) / 2
        opening = smooth([middle + along * to for to in (17 + 9j, 12 + 27j, -6 + 37j)])
        pen.curve("opening", opening)
        pen.lines("opening", head(opening))
    pen.close()


def _to(a: complex, b: complex) -> list[complex]:
    return [a + (b - a) / 3, b - (b - a) / 3, b]


def ring(pen: Pen, points: list[complex], room: float) -> None:
    """A ring behind the joints that must not stand so, `room` mm from them."""
    middle = sum(points) / len(points)
    pen.dot("round", middle, max(abs(p - middle) for p in points) + room)


def crossed(pen: Pen, joint: complex, tip: complex) -> None:
    """A wide cross over what has gone too far, from joint to tip; the hand shows through."""
    half = (tip - joint) / 2
    arms = [half * rect(1.05, radians(a)) for a in (35, -35)]
    pen.lines("never", *([joint + half - arm, joint + half + arm] for arm in arms))


def struck_out(pen: Pen, way: Way) -> None:
    """From the stop on to where it must not go: an arrow, crossed out, and the bar it passes."""
    out = max(3.0, STRUCK / abs(way.turn) - way.last)
    line = way.line(out)
    pen.open("struck-out")
    way.wall(pen, "edge", out)
    pen.curve("past", smooth(line, 1 / 3))
    pen.lines("past-head", head(line))
    at, half = way.at(0.48, out), CROSS
    arms = [[at + step, at - step] for step in (rect(half, radians(a)) for a in (45, 135))]
    pen.lines("halo", *arms)
    pen.lines("cross", *arms)
    _no_sign(pen)
    pen.close()


def _no_sign(pen: Pen) -> None:
    """A ring with a slanting bar, above the forearm."""
    centre, radius = complex(-68, max(50, -pen.box()[1] - 24)), 20.0
    pen.dot("no-sign", centre, radius)
    bar = rect(radius, radians(135))
    pen.lines("no-sign", [centre + bar, centre - bar])
