"""Writing a picture down: final coordinates, classes from the style sheet, no script, no style."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from xml.sax.saxutils import escape

from ..course import Side

Curve = Sequence[complex]
KEPT = 2048  # written lines: the pictures of a course share many
Box = tuple[float, float, float, float]  # least x, least y, most x, most y, in drawn coordinates


@dataclass(frozen=True, slots=True)
class Path:
    """A line or a filled shape, ready to be written."""

    name: str
    data: str

    def __str__(self) -> str:
        return f'<path class="{self.name}" d="{self.data}"/>'


class Pen:
    """Collects elements; turns the hand round for the right side and remembers what it covers."""

    def __init__(self, side: Side, shift: complex = 0j, places: int = 1) -> None:
        self.places = places  # decimals of a line's points
        self.mirror = 1 if side == "left" else -1
        self.shift = shift  # mm in drawn coordinates, y downwards
        self.parts: list[Path | str] = []
        self._x: list[float] = []
        self._y: list[float] = []

    def covers(self, points: Iterable[complex], margin: float = 1.0) -> None:
        """These points, and a margin in mm round them, must lie in the view box."""
        self._widen(self._flat(points), margin)

    def open(self, name: str) -> None:
        """Begin a group of that class."""
        self.parts.append(f'<g class="{name}">')

    def close(self) -> None:
        self.parts.append("</g>")

    def curve(self, name: str, curve: Curve, shut: bool = False, places: int | None = None) -> None:
        """A smooth line: a point, then three control points for each next one."""
        exact = self.places if places is None else places
        data, box = _written(tuple(curve), self.mirror, self.shift, exact)
        self._x += box[::2]
        self._y += box[1::2]
        self.parts.append(Path(name, data + "Z" * shut))

    def lines(self, name: str, *runs: Curve, shut: bool = False, places: int | None = None) -> None:
        """Straight lines through the points of each run."""
        data, exact = "", self.places if places is None else places
        for run in runs:
            flat = self._flat(run)
            self._widen(flat)
            data += f"M{_pairs(flat, exact)}{'Z' if shut else ''}"
        if data:
            self.parts.append(Path(name, data))

    def dot(self, name: str, centre: complex, radius: float) -> None:
        """A circle; radius in mm."""
        self.covers([centre], radius + 1)
        x, y = self.place(centre)
        self.parts.append(
            f'<circle class="{name}" cx="{number(x, 2)}" cy="{number(y, 2)}" r="{number(radius)}"/>'
        )

    def text(self, name: str, at: complex, words: str) -> None:
        """Upright words, never mirrored, centred on a point."""
        self.covers([at], 9)
        x, y = self.place(at)
        self.parts.append(
            f'<text class="{name}" x="{number(x)}" y="{number(y + 5.2)}">{escape(words)}</text>'
        )

    def box(self) -> Box:
        """What was drawn lies in here."""
        return min(self._x), min(self._y), max(self._x), max(self._y)

    def place(self, point: complex) -> tuple[float, float]:
        """A point of the left hand, y upwards, as it is written."""
        return self.mirror * point.real + self.shift.real, -point.imag + self.shift.imag

    def include(self, other: Pen, parts: Iterable[Path | str]) -> None:
        """Elements another pen has made."""
        self.parts += parts
        self._x += other._x
        self._y += other._y

    def _flat(self, points: Iterable[complex]) -> list[float]:
        """x and y of each point in turn, as they are written."""
        return _flat(points, self.mirror, self.shift)

    def _widen(self, flat: list[float], margin: float = 1.0) -> None:
        self._x += (min(flat[::2]) - margin, max(flat[::2]) + margin)
        self._y += (min(flat[1::2]) - margin, max(flat[1::2]) + margin)


@lru_cache(maxsize=KEPT)
def _written(
    curve: tuple[complex, ...], mirror: int, shift: complex, places: int
) -> tuple[str, Box]:
    """A smooth line's path data, and what it covers with a margin of 1 mm."""
    flat = _flat(curve, mirror, shift)
    one = f"%.{places}f %.{places}f "
    form, numbers, last = ["M", one], flat[:2], ""
    for n in range(1, len(curve), 3):
        mirrored = n > 1 and abs(curve[n] + curve[n - 2] - 2 * curve[n - 1]) < 1e-6
        letter = "S" if mirrored else "C"  # S: the first handle mirrors the one before
        form.append((letter if letter != last else "") + one * (2 if mirrored else 3))
        numbers += flat[2 * n + 2 * mirrored : 2 * n + 6]
        last = letter
    x, y = flat[::2], flat[1::2]
    return _short("".join(form) % tuple(numbers)), (
        min(x) - 1, min(y) - 1, max(x) + 1, max(y) + 1,
    )  # fmt: skip


def _flat(points: Iterable[complex], mirror: int, shift: complex) -> list[float]:
    right, down = shift.real, shift.imag
    return [n for point in points for n in (mirror * point.real + right, down - point.imag)]


def _pairs(flat: list[float], places: int) -> str:
    """Numbers with a space between."""
    return _short(f"%.{places}f " * len(flat) % tuple(flat))


def _short(numbers: str) -> str:
    """Without '.0', the sign of a zero and the last space."""
    return numbers.replace(".00 ", " ").replace(".0 ", " ").replace("-0 ", "0 ").rstrip()


def document(
    parts: Iterable[Path | str], box: Box, key: str, name: str, words: tuple[str, str]
) -> str:
    """The whole picture. `key` keeps its ids apart from other pictures'; `words`: title, text."""
    x0, y0, x1, y1 = box
    view = " ".join(number(n) for n in (x0, y0, x1 - x0, y1 - y0))
    title, description = map(escape, words)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{key}" class="{name}" viewBox="{view}" '
        f'role="img" aria-labelledby="{key}t {key}d"><title id="{key}t">{title}</title>'
        f'<desc id="{key}d">{description}</desc>{"".join(map(str, parts))}</svg>'
    )


def number(value: float, places: int = 1) -> str:
    """Decimal digits without needless ones."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if places else text
    return "0" if text == "-0" else text
