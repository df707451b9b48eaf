"""How an alert says days, instants and amounts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from ...clock import local

Words = tuple[str, tuple[str, ...]]  # headline, lines
Figures = Mapping[str, Any]

NOT_DONE = "What was logged, not what was done. Diaries over-report."


def moment(iso: str, zone: str) -> str:
    """'Monday 8 June 14:10' in `zone`."""
    wall = local(datetime.fromisoformat(iso), zone)
    return f"{wall:%A} {wall.day} {wall:%B} {wall:%H:%M}"


def day(iso: str) -> str:
    """'Monday 8 June'."""
    said = date.fromisoformat(iso)
    return f"{said:%A} {said.day} {said:%B}"


def span(figures: Figures) -> str:
    """'from Monday 8 to Wednesday 10 June', or 'on Monday 8 June'."""
    first, last = figures["first"], figures["last"]
    return f"on {day(first)}" if first == last else f"from {day(first)} to {day(last)}"


def plural(number: int, word: str) -> str:
    """'1 day', '2 days'."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def listed(words: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    said = list(words)
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


def number(value: float) -> str:
    """A number without needless places: '3', '3.5'."""
    return f"{value:g}"
