"""A movement as one drawing whose lines change: SMIL, no script."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from .scene import Motion, Pose
from .skeleton import degrees_at
from .svg import Path, Pen

SECONDS = 4.8  # there and back, once: what moves longer than 5 s must be stoppable (WCAG 2.2.2)
TURN = 45.0  # degrees of all joints together from one drawing to the next
WAIT = "0.6s"


def shares(motion: Motion, start: Pose) -> list[float]:
    """How far along the way each drawing of a film stands, 0 to 1."""
    turns = (abs(at - degrees_at(start, joint)) for joint, at in motion.end.degrees)
    steps = min(max(ceil(sum(turns) / TURN), 2), 4)
    return [n / steps for n in range(steps + 1)]


def film(drawn: Sequence[Pen], key: str) -> Iterator[Path | str]:
    """Elements of the first drawing, each line turning into that of the next ones and back.

    It plays once by itself and again when the picture (id `key`) is pressed.
    """
    for parts in zip(*(pen.parts for pen in drawn), strict=True):
        first = parts[0]
        lines = [part.data for part in parts if isinstance(part, Path)]
        if not isinstance(first, Path) or len(set(lines)) == 1:
            yield first
        else:
            yield f'<path class="{first.name}" d="{first.data}">{_animate(lines, key)}</path>'


def _animate(lines: Sequence[str], key: str) -> str:
    steps = len(lines) - 1
    there_and_back = [lines[0], *lines, *lines[-1::-1]]
    times = [0.0, *(0.06 + 0.36 * n / steps for n in range(steps + 1))]
    times += [0.56 + 0.44 * n / steps for n in range(steps + 1)]
    return (
        f'<animate attributeName="d" begin="{WAIT};{key}.click" dur="{SECONDS}s" '
        f'keyTimes="{";".join(f"{t:.2f}" for t in times)}" values="{";".join(there_and_back)}"/>'
    )
