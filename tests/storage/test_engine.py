"""Writers of one process take turns on SQLite, and a turn ends with its transaction."""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event

import pytest
from sqlalchemy import Connection, Engine, create_engine
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from homeprog.storage.engine import PATIENCE, begin_reading, set_up

AT_ONCE = PATIENCE / 2  # s; who meets a turn that was not given back waits longer


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "house.sqlite3"


@pytest.fixture
def engine(file: Path) -> Iterator[Engine]:
    engine = opened(file)
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE kept (number INTEGER)")
    yield engine
    engine.dispose()


def opened(file: Path) -> Engine:
    engine = create_engine(f"sqlite:///{file}")
    set_up(engine)
    return engine


def put(connection: Connection) -> None:
    connection.exec_driver_sql("INSERT INTO kept VALUES (1)")


def seconds_to_write(engine: Engine) -> float:
    begun = time.perf_counter()
    with engine.begin() as connection:
        put(connection)
    return time.perf_counter() - begun


def test_writers_at_once_each_write(engine: Engine) -> None:
    with ThreadPoolExecutor(8) as writers:
        list(writers.map(lambda _: seconds_to_write(engine), range(40)))
    with engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM kept").scalar() == 40


def test_a_writer_waits_until_the_one_before_has_committed(engine: Engine) -> None:
    begun = Event()

    def write() -> float:
        begun.set()
        return seconds_to_write(engine)

    with ThreadPoolExecutor(1) as other, engine.connect() as connection:
        put(connection)
        waiting = other.submit(write)
        begun.wait()
        time.sleep(0.2)
        assert not waiting.done()
        connection.commit()
        assert waiting.result() < AT_ONCE


def test_a_committed_connection_that_is_kept_open_has_given_back_its_turn(engine: Engine) -> None:
    with engine.connect() as connection:
        put(connection)
        connection.commit()
        assert seconds_to_write(engine) < AT_ONCE


def test_a_connection_rolled_back_or_closed_has_given_back_its_turn(engine: Engine) -> None:
    with engine.connect() as connection:
        put(connection)
        connection.rollback()
        assert seconds_to_write(engine) < AT_ONCE
    with engine.connect() as connection:
        put(connection)
    assert seconds_to_write(engine) < AT_ONCE
    lost = engine.connect()
    put(lost)
    lost.detach()
    lost.close()
    assert seconds_to_write(engine) < AT_ONCE


def test_a_writer_whom_the_database_refused_has_given_back_its_turn(
    engine: Engine, file: Path
) -> None:
    other = opened(file)  # another process has a turn of its own
    with other.connect() as stranger:
        put(stranger)
        with engine.connect() as connection:
            connection.connection.cursor().execute("PRAGMA busy_timeout = 1")
            with pytest.raises(OperationalError, match="locked"):
                put(connection)
    other.dispose()
    assert seconds_to_write(engine) < AT_ONCE


def test_who_only_reads_waits_for_no_turn_and_takes_none(engine: Engine) -> None:
    with engine.connect() as writer, Session(engine) as reader:
        put(writer)
        begin_reading(reader)
        count = reader.connection().exec_driver_sql("SELECT count(*) FROM kept").scalar()
        assert count == 0
        writer.commit()
        assert seconds_to_write(engine) < AT_ONCE
