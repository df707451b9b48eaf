"""Whether the database stands at the newest migration."""

from __future__ import annotations

from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError


def schema_fault(connection: Connection, migrations: str) -> str | None:
    """What is wrong with the schema, in words; None where it is at head.

    `migrations` is the folder of the migrations.
    """
    head = ScriptDirectory(migrations).get_current_head()
    try:
        at = MigrationContext.configure(connection).get_current_revision()
    except SQLAlchemyError as error:
        return f"cannot be read ({type(error).__name__})"
    if at != head:
        return f"at {at or 'nothing'}, not at {head}: run `flask db upgrade`"
    return None
