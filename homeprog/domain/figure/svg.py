"""Writing a picture down: final coordinates, classes from the style sheet, no script, no style."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from ..course import Side

Curve = Sequence[complex]


class Pen:
    """Collects elements; turns the hand round for the right side and remembers what it covers."""

    def __init__(self, side: Side) -> None:
        self._mirror = 1 if side == "left" else -1
        self.parts: list[str] = []
        self._x: list[float] = []
        self._y: list[float] = []

    def covers(self, points: Iterable[complex], margin: float = 1.0) -> None:
        """These points, and a margin in mm round them, must lie in the view box."""
        for point in points:
            x, y = self._mirror * point.real, -point.imag
            self._x += (x - margin, x + margin)
            self._y += (y - margin, y + margin)

    def open(self, name: str, **more: str) -> None:
        """Begin a group of that class."""
        self.parts.append(f'<g class="{name}"{_attributes(more)}>')

    def close(self) -> None:
        self.parts.append("</g>")

    def curve(self, name: str, curve: Curve, shut: bool = False, inside: str = "") -> None:
        """A smooth line: a point, then three control points for each next one."""
        self.covers(curve)
        self._path(name, self.bends(curve, shut), inside)

    def lines(self, name: str, *runs: Curve, shut: bool = False, inside: str = "") -> None:
        """Straight lines through the points of each run."""
        for run in runs:
            self.covers(run)
        self._path(name, "".join(self.straight(run, shut) for run in runs), inside)

    def dot(self, name: str, centre: complex, radius: float) -> None:
        """A circle; radius in mm."""
        self.covers([centre], radius + 1)
        x, y = self._mirror * centre.real, -centre.imag
        self.parts.append(
            f'<circle class="{name}" cx="{_number(x, 2)}" cy="{_number(y, 2)}" '
            f'r="{_number(radius)}"/>'
        )

    def text(self, name: str, at: complex, words: str) -> None:
        """Upright words, never mirrored, centred on a point."""
        self.covers([at], 8)
        x, y = self._mirror * at.real, -at.imag
        self.parts.append(
            f'<text class="{name}" x="{_number(x)}" y="{_number(y + 5)}">{escape(words)}</text>'
        )

    def bends(self, curve: Curve, shut: bool = False) -> str:
        """Path data of a smooth curve."""
        start, *rest = curve
        return f"M{self._pairs([start])}C{self._pairs(rest)}{'Z' if shut else ''}"

    def straight(self, run: Curve, shut: bool = False, places: int = 1) -> str:
        """Path data of straight lines."""
        return f"M{self._pairs(run, places)}{'Z' if shut else ''}"

    def box(self) -> tuple[float, float, float, float]:
        """(least x, least y, most x, most y) of all that was drawn, in drawn coordinates."""
        return min(self._x), min(self._y), max(self._x), max(self._y)

    def _path(self, name: str, data: str, inside: str) -> None:
        tail = f">{inside}</path>" if inside else "/>"
        self.parts.append(f'<path class="{name}" d="{data}"{tail}')

    def _pairs(self, points: Curve, places: int = 1) -> str:
        return " ".join(
            f"{_number(self._mirror * p.real, places)} {_number(-p.imag, places)}" for p in points
        )


def document(
    pen: Pen, box: tuple[float, float, float, float], key: str, title: str, description: str
) -> str:
    """The whole picture. `box` as Pen.box; `key` keeps its ids apart from other pictures'."""
    x0, y0, x1, y1 = box
    view = " ".join(_number(n) for n in (x0, y0, x1 - x0, y1 - y0))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="figure" viewBox="{view}" role="img" '
        f'aria-labelledby="{key}t {key}d"><title id="{key}t">{escape(title)}</title>'
        f'<desc id="{key}d">{escape(description)}</desc>{"".join(pen.parts)}</svg>'
    )


def _attributes(more: dict[str, str]) -> str:
    return "".join(f" {name.rstrip('_')}={quoteattr(value)}" for name, value in more.items())


def _number(value: float, places: int = 1) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"
    return "0" if text in ("-0", "") else text
