"""Shapes that follow a limb: the trough of a splint, a wrap all round, straps across."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from .outline import Flesh, Limb, side, smooth, width_at
from .skeleton import KEPT, Chain

STRAP = 6.0  # mm, half the width of a strap
WALL = 4.5  # mm, thickness of a splint


@lru_cache(maxsize=KEPT)
def cut(limb: Limb, start: tuple[int, float], end: tuple[int, float]) -> Limb:
    """The part of a limb between two places, each a bone and a share of the way along it.

    A share over 1 goes on past the end of the bone.
    """
    first, last = start[0], end[0]
    points = [_place(limb, *start), *limb.chain.points[first + 1 : last + 1], _place(limb, *end)]
    flesh = list(limb.flesh[first : last + 1])
    if first == last:
        flesh = [_part(flesh[0], start[1], end[1])]
    else:
        flesh[0], flesh[-1] = _part(flesh[0], start[1], 1), _part(flesh[-1], 0, end[1])
    names = ("cut", *limb.chain.names[first + 1 : last + 1], "cut")
    return Limb(Chain(names, tuple(points)), tuple(flesh))


@lru_cache(maxsize=KEPT)
def trough(part: Limb, up: bool, wall: float = 0.2) -> tuple[complex, ...]:
    """A splint that lies along one side of a limb; seen from beside, its wall rises.

    `wall`: where its upper edge runs, as a share of the half thickness on that side.
    """
    outer = _edge(_sides(part, up, 1.0, WALL), up)
    inner = _edge(_sides(part, up, wall, 0.0), up)
    back = smooth(inner[::-1])
    front = smooth(outer)
    return (
        *front,
        *_round(front[-1], back[0], part, -1),
        *back[1:],
        *_round(back[-1], front[0], part, 1),
    )


def wrap(part: Limb, back: float, palm: float) -> list[complex]:
    """A closed shape all round a limb, so many mm thick on its back and palm side."""
    grown = Limb(part.chain, tuple(f.grown(back, palm) for f in part.flesh))
    top, under = smooth(_edge(grown, True)), smooth(_edge(grown, False)[::-1])
    return [
        *top, *_round(top[-1], under[0], part, -1), *under[1:], *_round(under[-1], top[0], part, 1),
    ]  # fmt: skip


def wrap_sides(part: Limb, thick: float) -> list[complex]:
    """The same, from the near end along the back, round the far end and home: open at its near."""
    grown = Limb(part.chain, tuple(f.grown(thick, thick) for f in part.flesh))
    top, under = smooth(_edge(grown, True)), smooth(_edge(grown, False)[::-1])
    return [*top, *_round(top[-1], under[0], part, -1), *under[1:]]


def turns(
    part: Limb, back: float, palm: float, step: float, lean: float
) -> Iterator[list[complex]]:
    """The slanting lines of a bandage: `step` mm apart, leaning `lean` mm, clear of the joints."""
    for bone, flesh in enumerate(part.flesh):
        start, end = part.chain.points[bone : bone + 2]
        way, length = part.chain.bone(bone), abs(end - start)
        for n in range(1, int((length - lean * 0.5) / step) + 1):
            top, under = n * step, n * step - lean
            if under < (10 if bone else 3) or top > length - 3:
                continue
            yield [
                start + way * top + way * 1j * (width_at(flesh.back, top / length) + back - 1),
                start + way * (top + under - 3) / 2,
                start + way * under - way * 1j * (width_at(flesh.palm, under / length) + palm - 1),
            ]


def strap(limb: Limb, bone: int, way: float, up: bool, wall: float = 0.2) -> list[complex]:
    """A strap across a limb from the wall of a trough over the other side; `up`: trough's side."""
    half = STRAP / abs(limb.chain.points[bone + 1] - limb.chain.points[bone])
    turn = -1j if up else 1j
    corners = []
    for share in (way - half, way + half):
        at, bone_way = _place(limb, bone, share), limb.chain.bone(bone)
        over = width_at(limb.flesh[bone].on(not up), share) + 2.0
        near = width_at(limb.flesh[bone].on(up), share) * wall + 6.5
        corners.append((at + bone_way * turn * over, at - bone_way * turn * near))
    (a, b), (c, d) = corners
    return [a, c, d, b]


def _sides(part: Limb, up: bool, share: float, more: float) -> Limb:
    flesh = tuple(
        Flesh(
            tuple(w * share + more for w in f.back) if up else f.back,
            f.palm if up else tuple(w * share + more for w in f.palm),
        )
        for f in part.flesh
    )
    return Limb(part.chain, flesh)


def _edge(part: Limb, up: bool) -> list[complex]:
    last = len(part.flesh) - 1
    return [part.edge(0, 0, up), *side(part, 0, last, up), part.edge(last, 1, up)]


def _round(a: complex, b: complex, part: Limb, end: int) -> list[complex]:
    """A slightly bulging end from a to b, beyond the last bone (-1) or before the first (1)."""
    bone = part.chain.bone(len(part.flesh) - 1) if end < 0 else -part.chain.bone(0)
    bulge = bone * min(abs(b - a) * 0.16, 4.0)
    return [a + bulge, b + bulge, b]


def _place(limb: Limb, bone: int, way: float) -> complex:
    start, end = limb.chain.points[bone : bone + 2]
    return start + (end - start) * way


def _part(flesh: Flesh, start: float, end: float) -> Flesh:
    """A flesh between two shares of its way, with as many stations."""
    shares = [start + (end - start) * n / 3 for n in range(4)]
    return Flesh(
        tuple(width_at(flesh.back, s) for s in shares),
        tuple(width_at(flesh.palm, s) for s in shares),
    )
