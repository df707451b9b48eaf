"""The caseload page with 2,000 open courses over one with 200, by inserted rows."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path


def caseload_figures(folder: Path) -> Iterator[tuple[str, float, str, float]]:
    """(name, value, unit, most allowed)."""
    yield from ()
