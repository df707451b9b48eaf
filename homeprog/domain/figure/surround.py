"""What lies round the hand: the pillow under it, the straps undone, the sign that forbids."""

from __future__ import annotations

from cmath import rect
from math import radians

from . import shell
from .motion import Way, head
from .outline import Limb, side, smooth
from .svg import Pen

DEEP = 34.0  # mm, least thickness of the pillow
STRUCK = 76.0  # mm, least length of an arrow that is crossed out
CROSS = 13.0  # mm, half the length of the strokes that cross an arrow out


def pillow(pen: Pen, limb: Limb) -> None:
    """A pillow that bears forearm, palm and finger as they lie."""
    part = shell.cut(limb, (0, 0.06), (len(limb.flesh) - 1, 1.05))
    last = len(part.flesh) - 1
    top = [part.edge(0, 0, False, 1), *side(part, 0, last, False), part.edge(last, 1, False, 1)]
    top = [p for n, p in enumerate(top) if n == 0 or p.real > max(q.real for q in top[:n]) + 4]
    floor = min(p.imag for p in top) - DEEP
    left, right = top[0].real - 4, max(p.real for p in top) + 26
    edge = smooth([
        complex(left - 2, top[0].imag + 6), *top,
        complex(right - 6, top[-1].imag + 5), complex(right, top[-1].imag - 4),
        complex(right - 4, (top[-1].imag + floor) / 2), complex(right + 1, floor + 2),
        complex(right - 14, floor - 1), complex((left + right) / 2, floor + 5),
        complex(left + 10, floor - 1), complex(left - 2, floor + 2),
        complex(left, (top[0].imag + floor) / 2), complex(left - 2, top[0].imag + 6),
    ])  # fmt: skip
    pen.open("pillow")
    pen.curve("cushion", edge, shut=True)
    seam = [
        complex(left + 8, floor + 13),
        complex((left + right) / 2, floor + 17),
        complex(right - 10, floor + 13),
    ]
    pen.curve("seam", smooth(seam))
    pen.close()


def undone(pen: Pen, limb: Limb, places: tuple[tuple[int, float], ...]) -> None:
    """Straps hanging down from an opened splint."""
    pen.open("worn undone")
    for bone, way in places:
        half = shell.STRAP / abs(limb.chain.points[bone + 1] - limb.chain.points[bone])
        a, b = (limb.edge(bone, way + s, False, shell.WALL - 1) for s in (-half, half))
        bend, fall = -10j - 4, -30j - 2
        pen.curve(
            "strap",
            [
                *smooth([a, a + bend, a + fall]),
                *_to(a + fall, b + fall + 1j),
                *smooth([b + fall + 1j, b + bend, b])[1:],
            ],
            shut=True,
        )
    pen.close()


def _to(a: complex, b: complex) -> list[complex]:
    return [a + (b - a) / 3, b - (b - a) / 3, b]


def ring(pen: Pen, points: list[complex], room: float) -> None:
    """A ring behind the joints that must not stand so, `room` mm from them."""
    middle = sum(points) / len(points)
    pen.dot("ring", middle, max(abs(p - middle) for p in points) + room)


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
