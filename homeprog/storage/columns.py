"""Read columns by a statement put together once: no objects are made of the rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Dialect, Executable, Text
from sqlalchemy.orm import Session
from sqlalchemy.types import TypeDecorator


class KeyText(TypeDecorator[str]):
    """A UUID read as its text: of many rows, which nobody asks for it as a UUID."""

    impl = Text
    cache_ok = True

    def process_result_value(self, value: Any, dialect: Dialect) -> str | None:
        if value is None or dialect.name != "sqlite":
            return value and str(value)
        return f"{value[:8]}-{value[8:12]}-{value[12:16]}-{value[16:20]}-{value[20:]}"


def columns(db: Session, statement: Executable, meant: Mapping[str, Any]) -> Sequence[Any]:
    """The rows of a statement of columns; flushes, as the session does before it reads."""
    db.flush()
    return db.connection().execute(statement, meant).all()
