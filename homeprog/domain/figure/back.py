"""Which fingers: the hand seen from its back, fingers up, the thumb on its own side.

Coordinates as in skeleton.py, but up is where the fingers point: the left hand's thumb is on the
right, as its owner sees it. Sides of palm and forearm, and the thumb's slant, are by eye.
"""

from __future__ import annotations

from cmath import rect
from dataclasses import dataclass
from itertools import pairwise
from math import radians

from ..course import DIGITS, Digit, Zone
from .hand_model import RAYS
from .outline import smooth, width_at
from .scene import Scene
from .svg import Pen

LITTLE_SIDE = (-26 - 40j, -26.5 - 22j, -29 - 4j, -37 + 18j, -42.5 + 46j)
THUMB_SIDE = (25 - 6j, 25 - 22j, 25.5 - 40j)
ROW: tuple[Digit, ...] = ("small", "ring", "middle", "index")
WEB = 0.4  # of the first bone: how far up from the knuckle the skin between two fingers lies
THUMB_SLANT = (-47.0, -40.0, -33.0)  # degrees of its bones from the hand's line


@dataclass(frozen=True, slots=True)
class Bar:
    """One digit from its knuckle (the thumb: from its base) to its tip, with half widths."""

    points: tuple[complex, ...]  # mm
    widths: tuple[float, ...]  # at each point

    def at(self, place: float) -> tuple[complex, complex, float]:
        """(point, unit vector, half width) at bone + share of the way along it."""
        bone = min(int(place), len(self.points) - 2)
        start, end = self.points[bone : bone + 2]
        width = width_at(self.widths[bone : bone + 2], place - bone)
        return start + (end - start) * (place - bone), (end - start) / abs(end - start), width

    def side(self, place: float, left: bool, more: float = 0.0) -> complex:
        """A point of the digit's edge."""
        point, way, width = self.at(place)
        return point + way * (1j if left else -1j) * (width + more)


def bar(digit: Digit) -> Bar:
    """A digit as it lies seen from the back."""
    ray = RAYS[digit]
    if digit == "thumb":
        points, slants = [complex(ray.aside, ray.knuckle)], THUMB_SLANT
    else:
        points = [complex(ray.aside, ray.knuckle)]
        slants = (-ray.splay,) * 3
    for length, slant in zip(ray.bones, slants, strict=True):
        points.append(points[-1] + rect(length, radians(90 + slant)))
    first, second, last = (depth / 2 for depth in ray.depths)
    return Bar(tuple(points), (first, (first + second) / 2, second, last - 1.4))


def fingers(pen: Pen, scene: Scene) -> None:
    """The hand: mended fingers pointed at, held ones strapped, moving ones marked."""
    bars = {digit: bar(digit) for digit in DIGITS}
    pen.open("back")
    pen.curve("skin", smooth(_outline(bars)))
    for digit in scene.repaired:
        pen.curve("skin chosen", _finger(bars[digit], digit))
    for digit in DIGITS:
        _details(pen, bars[digit], digit)
    if scene.worn is not None:
        _strap(pen, bars, scene.holds)
    for digit in scene.repaired:
        _tendon(pen, bars[digit], digit, scene.zone)
    for digit in DIGITS:
        if digit in scene.digits:
            _moves(pen, bars[digit])
        if digit in scene.repaired:
            _pointer(pen, bars[digit])
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
    """A digit alone, shut across its base."""
    low = 0.35 if digit == "thumb" else WEB
    left, right = (_up(each, side, (low, 1.0, 1.5, 2.0, 2.5)) for side in (True, False))
    return smooth([*left, *_tip(each), *right[::-1]])


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


def _strap(pen: Pen, bars: dict[Digit, Bar], holds: tuple[Digit, ...]) -> None:
    """What is worn, as a strap over the digits it holds."""
    row = [bars[digit] for digit in ROW if digit in holds]
    if "thumb" in holds:
        _band(pen, bars["thumb"].side(1.5, True), bars["thumb"].side(1.5, False))
    if row:
        _band(pen, row[0].side(0.7, True), row[-1].side(0.6, False))


def _band(pen: Pen, first: complex, last: complex) -> None:
    """A straight strap from edge to edge, with a little over on both sides."""
    way = (last - first) / abs(last - first)
    first, last, half = first - way * 2.5, last + way * 2.5, way * 5.5j
    pen.lines("strap", [first + half, last + half, last - half, first - half], shut=True)


def _pointer(pen: Pen, each: Bar) -> None:
    """A solid arrow head that points at a mended digit's tip."""
    tip, way, _ = each.at(3.0)
    low = tip + way * 15
    pen.lines("mark", [low, low + way * 13 + way * 8j, low + way * 13 - way * 8j], shut=True)


def _moves(pen: Pen, each: Bar) -> None:
    """A short arrow with two heads beyond the tip of a digit that exercises."""
    tip, way, _ = each.at(3.0)
    low, high = tip + way * 3.5, tip + way * 12
    wing = 3.4
    pen.lines(
        "to-and-fro", [low, high],
        [low + way * wing + way * 1j * wing, low, low + way * wing - way * 1j * wing],
        [high - way * wing + way * 1j * wing, high, high - way * wing - way * 1j * wing],
    )  # fmt: skip


# Where on a tendon a zone lies: bone and share of the way along it, or how far up the hand.
ON_DIGIT: dict[Zone, float] = {
    "I": 2.0, "II": 1.5, "III": 1.0, "IV": 0.55, "V": 0.0,
    "TI": 2.0, "TII": 1.5, "TIII": 1.0, "TIV": 0.5, "TV": 0.0,
}  # fmt: skip
UP_THE_HAND: dict[Zone, float] = {"VI": 42.0, "VII": 0.0, "VIII": -18.0, "IX": -33.0}  # mm


def _tendon(pen: Pen, each: Bar, digit: Digit, zone: Zone | None) -> None:
    """The tendon's course, and a wound sewn across it in the zone of the repair."""
    knuckle = each.points[0]
    wrist = complex(8, -2) if digit == "thumb" else complex(knuckle.real * 0.28, 0)
    run = [complex(wrist.real * 0.6, -39), wrist, knuckle, *each.points[1:3], each.at(2.3)[0]]
    pen.curve("tendon", smooth(run))
    if zone in ON_DIGIT:
        _sewn(pen, *each.at(ON_DIGIT[zone])[:2])
    elif zone is not None:
        _sewn(pen, *_at_height(run, UP_THE_HAND[zone]))


def _at_height(run: list[complex], height: float) -> tuple[complex, complex]:
    """(point, unit vector) where a tendon passes a height, mm above the wrist."""
    for start, end in pairwise(run):
        if start.imag <= height <= end.imag:
            way = end - start
            return start + way * (height - start.imag) / way.imag, way / abs(way)
    return run[2], 1j


def _sewn(pen: Pen, at: complex, way: complex) -> None:
    across = way * 1j
    runs = [[at - across * 9, at + across * 9]]
    runs += [[at + across * n - way * 3.4, at + across * n + way * 3.4] for n in (-6, -2, 2, 6)]
    pen.lines("repair", *runs)
