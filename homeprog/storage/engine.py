"""How SQLite is opened: WAL, foreign keys, durable commits, and who may write."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Engine, event

READS_ONLY = "homeprog_reads_only"  # execution option of a connection that will not write


def set_up(engine: Engine) -> None:
    """Give a SQLite engine its pragmas and explicit BEGINs; PostgreSQL needs nothing."""
    if engine.dialect.name != "sqlite":
        return
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)


def _on_connect(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # the driver must not open transactions by itself
    for pragma in (
        "journal_mode = WAL",
        "foreign_keys = ON",
        "synchronous = FULL",
        "busy_timeout = 10000",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _on_begin(connection: Connection) -> None:
    reads = connection.get_execution_options().get(READS_ONLY, False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
