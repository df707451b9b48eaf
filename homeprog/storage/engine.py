"""How SQLite is opened: WAL, foreign keys, durable commits, and who may write."""

from __future__ import annotations

import sqlite3
from threading import Lock
from typing import Any

from sqlalchemy import Connection, Engine, event
from sqlalchemy.orm import Session

READS_ONLY = "homeprog_reads_only"  # execution option of a connection that will not write
PATIENCE = 10  # s to wait for a turn, and then for the database itself


def begin_reading(db: Session) -> None:
    """Open a transaction that will not write, and so waits for no writer and stops none."""
    db.connection(execution_options={READS_ONLY: True})


def end_reading(db: Session, row: object) -> None:
    """End that transaction and keep a row as it was read, for the write that follows."""
    db.expunge(row)
    db.rollback()
    db.add(row)


def set_up(engine: Engine) -> None:
    """Give a SQLite engine its pragmas and explicit BEGINs; PostgreSQL needs nothing."""
    if engine.dialect.name != "sqlite":
        return
    turn = Lock()

    def in_turn(_dialect: Any, _record: Any, _args: Any, options: dict[str, Any]) -> None:
        options["factory"] = _Writer

    def begin(connection: Connection) -> None:
        reads = connection.get_execution_options().get(READS_ONLY, False)
        if reads:
            connection.exec_driver_sql("BEGIN")
        else:
            _driver(connection).wait_for(turn)
            connection.exec_driver_sql("BEGIN IMMEDIATE")

    event.listen(engine, "do_connect", in_turn)
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", begin)


class _Writer(sqlite3.Connection):
    """Writers of one process take turns: SQLite would have them ask again and again.

    The turn ends with the transaction, however that ends. It only spares waiting: who has waited
    too long asks the database, which alone decides.
    """

    _turn: Lock | None = None

    def wait_for(self, turn: Lock) -> None:
        """Take the turn, or go on without it after PATIENCE."""
        if self._turn is None and turn.acquire(timeout=PATIENCE):
            self._turn = turn

    def commit(self) -> None:
        try:
            super().commit()
        finally:
            self._give_back()

    def rollback(self) -> None:
        try:
            super().rollback()
        finally:
            self._give_back()

    def close(self) -> None:
        try:
            super().close()
        finally:
            self._give_back()

    def _give_back(self) -> None:
        turn, self._turn = self._turn, None
        if turn is not None:
            turn.release()


def _driver(connection: Connection) -> _Writer:
    driver: Any = connection.connection.driver_connection
    assert isinstance(driver, _Writer)
    return driver


def _on_connect(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # the driver must not open transactions by itself
    for pragma in (
        "journal_mode = WAL",
        "foreign_keys = ON",
        "synchronous = FULL",
        f"busy_timeout = {PATIENCE * 1000}",
    ):
        connection.execute(f"PRAGMA {pragma}")
