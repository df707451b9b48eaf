"""What every row has: an id, a clinic, and instants kept in UTC."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, ColumnElement, DateTime, Dialect, ForeignKey, MetaData, Text, Uuid
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

NAMES = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


class Instant(TypeDecorator[datetime]):
    """An aware datetime, kept in UTC; SQLite keeps it without the offset."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("an instant needs its offset")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads this name
        datetime: Instant,
        uuid.UUID: Uuid(as_uuid=True),
        dict[str, Any]: JSON,
        list[Any]: JSON,
        str: Text,
    }


class Row(Base):
    """A row of one clinic. Append-only unless its class says otherwise."""

    __abstract__ = True

    id: Mapped[uuid.UUID] = mapped_column(primary_key=True, default=uuid.uuid4)
    clinic_id: Mapped[uuid.UUID] = mapped_column(ForeignKey("clinic.id"), index=True)
    at: Mapped[datetime]  # when the row was made, by the server's clock


def oldest_first(row: type[Row]) -> tuple[ColumnElement[Any], ...]:
    """The one order of rows by when they were made, wherever the newest is in force.

    Of rows made in the same instant the id decides. Ids are random: which of the two is in force
    then is chance, but it is the same one in every read, on both databases and at each rebuild.
    Rows that must follow one another have a number of their own (revision, audit).
    """
    return row.at.asc(), row.id.asc()


def newest_first(row: type[Row]) -> tuple[ColumnElement[Any], ...]:
    """`oldest_first` turned round: its first row is the last of the other."""
    return row.at.desc(), row.id.desc()
