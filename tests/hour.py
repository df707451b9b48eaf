"""The hour at which tests of pages and commands live: the same whenever they are run.

HOMEPROG_TESTS_AT=2026-10-25T03:10+00:00 runs them at another one: at night, on a Sunday, on the
day the clocks change.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import datetime

import pytest
import time_machine

AT = datetime.fromisoformat(os.environ.get("HOMEPROG_TESTS_AT", "2026-06-05T13:10+00:00"))


@pytest.fixture(autouse=True)
def at_this_hour() -> Iterator[None]:
    """Real time goes on from AT, a Friday at 14:10 in London unless told otherwise."""
    with time_machine.travel(AT, tick=True):
        yield
