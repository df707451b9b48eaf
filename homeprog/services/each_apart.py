"""Do things each in a savepoint of its own: one that fails stops no other."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Iterable

from sqlalchemy.orm import Session

log = logging.getLogger(__name__)


def apart(db: Session, what: str, act: Callable[[], object]) -> bool:
    """False, and logged, where it fails: nothing of it stays, and whatever was done before does."""
    try:
        with db.begin_nested():
            act()
    except Exception as error:  # whatever it is; no patient is named
        log.error("%s: %s", what, type(error).__name__)
        return False
    return True


def each_apart(
    db: Session, what: str, ids: Iterable[uuid.UUID], act: Callable[[uuid.UUID], int]
) -> int:
    """The sum of what `act` gives; where it fails nothing of it stays, and that is logged."""
    given: list[int] = []
    for key in ids:
        apart(db, f"{what} {key}", lambda key=key: given.append(act(key)))  # type: ignore[misc]
    return sum(given)
