"""Which fingers: the hand seen from its back, fingers up, the thumb on its own side.

Coordinates as in skeleton.py, but up is where the fingers point: the left hand's thumb is on the
right, as its owner sees it. Sides of palm and forearm, and the thumb's slant, are by eye.
"""

from __future__ import annotations

from cmath import rect
from itertools import pairwise
from math import radians

from ..course import DIGITS, Digit, Worn
from . import mended
from .outline import smooth
from .rays import Bar, bar
from .scene import Scene
from .svg import Pen

LITTLE_SIDE = (-26 - 40j, -26.5 - 22j, -29 - 4j, -37 + 18j, -42.5 + 46j)
THUMB_SIDE = (25 - 6j, 25 - 22j, 25.5 - 40j)
ROW: tuple[Digit, ...] = ("small", "ring", "middle", "index")
WEB = 0.4  # of the first bone: how far up from the knuckle the skin between two fingers lies


def fingers(pen: Pen, scene: Scene) -> None:
    """The hand: mended fingers pointed at, held ones strapped, moving ones marked."""
    bars = {digit: bar(digit) for digit in DIGITS}
    pen.open("back")
    if scene.worn in PLATES:
        _plates(pen, bars, scene.holds, PLATES[scene.worn])
    pen.curve("skin", smooth(_outline(bars)))
    for digit in scene.repaired:
        pen.curve("chosen", _finger(bars[digit], digit))
    for digit in DIGITS:
        _details(pen, bars[digit], digit)
    if scene.worn == "sling":
        for digit in scene.holds:
            _across(pen, bars[digit], bars[digit])
    if scene.worn == "yoke":
        _yoke(pen, bars, scene.holds)
    repaired = [bars[digit] for digit in scene.repaired]
    runs = [mended.tendon(pen, bars[digit], digit) for digit in scene.repaired]
    wounds = (mended.wound(each, run, scene.zone) for each, run in zip(repaired, runs, strict=True))
    mended.wounds(pen, [each for each in wounds if each is not None])
    for digit in DIGITS:
        if digit in scene.digits:
            _moves(pen, bars[digit])
        if digit in scene.repaired:
            mended.pointer(pen, bars[digit])
    pen.close()
    pen.open("bones back")
    for digit, each in bars.items():
        for n, point in enumerate(each.points):
            pen.dot(f"j {digit} {'tip' if n == 3 else n}", point, 1.3)
    pen.close()


def _outline(bars: dict[Digit, Bar]) -> list[complex]:
    """Round the whole hand: up the little finger's side, over every tip, down the thumb's."""
    points = list(LITTLE_SIDE)
    for digit, neighbour in zip(ROW, (*ROW[1:], None), strict=True):
        each = bars[digit]
        points += _up(each, True)[1 if digit != "small" else 0 :]
        points += _tip(each)
        points += _up(each, False)[::-1][:-1]
        if neighbour is not None:
            points.append((each.side(WEB, False) + bars[neighbour].side(WEB, True)) / 2)
    index, thumb = bars["index"], bars["thumb"]
    points += [index.side(0.1, False, 1.0), index.points[0] + 14 - 16j, thumb.side(0.8, True, 3.0)]
    points += _up(thumb, True, (1.1, 1.6, 2.0, 2.5)) + _tip(thumb)
    points += _up(thumb, False, (0.55, 1.0, 1.5, 2.0, 2.5))[::-1]
    return points + list(THUMB_SIDE)


def _up(
    each: Bar, left: bool, places: tuple[float, ...] = (0.55, 1.0, 1.5, 2.0, 2.5)
) -> list[complex]:
    return [each.side(place, left) for place in places]


def _tip(each: Bar) -> list[complex]:
    point, way, width = each.at(3.0)
    centre = point - way * width
    return [centre + way * width * rect(1, radians(a)) for a in (75, 38, 0, -38, -75)]


def _finger(each: Bar, digit: Digit) -> list[complex]:
    """The tint of a digit: within its line, with a round base."""
    low = 0.9 if digit == "thumb" else 0.95
    places = (low, 1.2, 1.6, 2.0, 2.5)
    left, right = ([each.side(place, up, -0.8) for place in places] for up in (True, False))
    point, way, width = each.at(low)
    tip = [at - each.at(3.0)[1] * 0.8 for at in _tip(each)]
    return smooth([*left, *tip, *right[::-1], point - way * width * 0.7, left[0]])


def _details(pen: Pen, each: Bar, digit: Digit) -> None:
    """Nail and the folds over the joints."""
    tip, way, width = each.at(3.0)
    half, across = width * 0.72, way * 1j
    base, top = tip - way * 11.5, tip - way * 3
    left, right = across * half, -across * half
    nail = [
        top + left * 0.8, base + left * 0.9, base - way * 1.6, base + right * 0.9,
        top + right * 0.8, top + way * 1.6, top + left * 0.8,
    ]  # fmt: skip
    pen.curve("nail", smooth(nail))
    for place in (1.0, 2.0):
        for step in (-1.3, 1.3):
            point, along, wide = each.at(place)
            at, out = point + along * step, along * 1j * wide * 0.55
            pen.curve("crease", smooth([at - out, at + along * step * 0.5, at + out]))
    if digit != "thumb":
        point, along, wide = each.at(0.0)
        pen.curve(
            "crease", smooth([point + along * 1j * 6, point + along * 2.5, point - along * 1j * 6])
        )


# What each kind of stiff thing under the fingers is drawn as.
PLATES: dict[Worn, str] = {"splint": "shell", "slab": "wrap", "plaster": "wrap"}


def _plates(pen: Pen, bars: dict[Digit, Bar], holds: tuple[Digit, ...], name: str) -> None:
    """A plate that lies under the held digits, showing between them and at their sides."""
    row = [bars[digit] for digit in ROW if digit in holds]
    if row:
        _plate(pen, name, row[0], row[-1], 0.0)
    if "thumb" in holds:
        _plate(pen, name, bars["thumb"], bars["thumb"], 0.9)


def _plate(pen: Pen, name: str, first: Bar, last: Bar, low: float) -> None:
    places = (low, 1.0, 1.5, 2.1)
    left = [first.side(place, True, 6.0) for place in places]
    right = [last.side(place, False, 6.0) for place in places]
    middle = (first.at(low)[0] + last.at(low)[0]) / 2 - first.at(low)[1] * 20
    pen.lines(name, [middle, *left, *right[::-1]], shut=True)


def _across(pen: Pen, first: Bar, last: Bar) -> None:
    """A band over the first bones, from edge to edge."""
    low, high = 0.42, 0.66
    pen.lines(
        "strap",
        [first.side(high, True, 1.5), last.side(high, False, 1.5),
         last.side(low, False, 1.5), first.side(low, True, 1.5)],
        shut=True,
    )  # fmt: skip


def _yoke(pen: Pen, bars: dict[Digit, Bar], holds: tuple[Digit, ...]) -> None:
    """A band over the neighbours of the digits it holds straighter; under those it is hidden."""
    for digit, beside in (*pairwise(ROW), *pairwise(ROW[::-1])):
        if digit in holds and beside not in holds:
            _across(pen, bars[beside], bars[beside])


def _moves(pen: Pen, each: Bar) -> None:
    """An arrow with two heads beyond the tip of a digit that exercises."""
    tip, way, _ = each.at(3.0)
    low, high = tip + way * 4, tip + way * 22
    wing, across = way * 5.0, way * 5.0j
    pen.lines(
        "to-and-fro", [low, high],
        [low + wing + across, low, low + wing - across],
        [high - wing + across, high, high - wing - across],
    )  # fmt: skip
