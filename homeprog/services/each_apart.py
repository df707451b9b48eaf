"""The same for each of several, each in a savepoint of its own: one that fails stops no other."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Iterable

from sqlalchemy.orm import Session

log = logging.getLogger(__name__)


def each_apart(
    db: Session, what: str, ids: Iterable[uuid.UUID], act: Callable[[uuid.UUID], int]
) -> int:
    """The sum of what `act` gives; where it fails nothing of it stays, and that is logged."""
    total = 0
    for key in ids:
        try:
            with db.begin_nested():
                total += act(key)
        except Exception as error:  # whatever it is, the others must not wait for it
            log.error("%s %s: %s", what, key, type(error).__name__)
    return total
