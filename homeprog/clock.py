"""The one clock that web, jobs and commands read; the demo's runs at an offset."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from flask import current_app


class Clock:
    """Gives the product's now; `real` also in the demo: passwords, cookies, VAPID, pairing."""

    def __init__(self, offset: Callable[[], timedelta] | None = None) -> None:
        self._offset = offset

    def real(self) -> datetime:
        return datetime.now(UTC)

    def now(self) -> datetime:
        return self.real() + self._offset() if self._offset else self.real()


def clock() -> Clock:
    """The clock of the app that is running."""
    found: Clock = current_app.extensions["homeprog_clock"]
    return found
