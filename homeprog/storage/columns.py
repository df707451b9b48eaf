"""Read columns by a statement put together once: no objects are made of the rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Executable
from sqlalchemy.orm import Session


def columns(db: Session, statement: Executable, meant: Mapping[str, Any]) -> Sequence[Any]:
    """The rows of a statement of columns; flushes, as the session does before it reads."""
    db.flush()
    return db.connection().execute(statement, meant).all()
