"""Migrations lay the whole schema from nothing, and the models ask for no other."""

import logging
from collections.abc import Iterator
from pathlib import Path

import flask_migrate
import pytest
from flask import Flask
from sqlalchemy import Inspector, inspect, text

from homeprog.config import ROOT, Config
from homeprog.extensions import db as extension
from homeprog.factory import create_app
from homeprog.storage.base import Base

# migrations/env.py asks Flask-SQLAlchemy in the old way first.

MIGRATIONS = ROOT / "migrations" / "versions"


@pytest.fixture
def bare(empty_url: str, tmp_path: Path) -> Iterator[Flask]:
    """The app over an empty database."""
    levels = {name: log.level for name, log in loggers().items()}
    config = Config(
        mode="test", instance=tmp_path / "instance", secret_key="s" * 40,
        database_url=empty_url, origin="http://localhost",
    )  # fmt: skip
    app = create_app(config)
    with app.app_context():
        yield app
        extension.session.remove()
        extension.engine.dispose()
    for name, log in loggers().items():  # Alembic's configuration file silences the others
        log.disabled = False
        log.setLevel(levels.get(name, log.level))


def loggers() -> dict[str, logging.Logger]:
    kept = logging.Logger.manager.loggerDict.items()
    return {name: log for name, log in kept if isinstance(log, logging.Logger)}


def schema() -> Inspector:
    return inspect(extension.engine)


def test_from_nothing_to_head_lays_every_table(bare: Flask) -> None:
    assert schema().get_table_names() == []
    flask_migrate.upgrade()
    assert set(schema().get_table_names()) == {*Base.metadata.tables, "alembic_version"}


def test_the_models_ask_for_nothing_the_migrations_have_not_laid(bare: Flask) -> None:
    flask_migrate.upgrade()
    flask_migrate.check()  # exits with an error on a drift


def test_a_column_that_was_not_laid_would_be_found(bare: Flask) -> None:
    flask_migrate.upgrade()
    with extension.engine.begin() as connection:
        connection.execute(text("ALTER TABLE prompt DROP COLUMN ends_at"))
    with pytest.raises(SystemExit):
        flask_migrate.check()


def test_unique_keys_and_indexes_are_laid_as_the_models_name_them(bare: Flask) -> None:
    """What the comparison above does not see on every database: partial indexes and names."""
    flask_migrate.upgrade()
    told = schema()
    for name, table in Base.metadata.tables.items():
        laid = {index["name"] for index in told.get_indexes(name)}
        assert {index.name for index in table.indexes} <= laid, name


def test_a_second_upgrade_changes_nothing(bare: Flask) -> None:
    flask_migrate.upgrade()
    before = schema().get_table_names()
    flask_migrate.upgrade()
    assert schema().get_table_names() == before


def test_there_is_one_head() -> None:
    said = "\n".join(file.read_text() for file in MIGRATIONS.glob("*.py"))
    assert said.count("\ndown_revision = ") == len(list(MIGRATIONS.glob("*.py")))
    assert said.count("\ndown_revision = None") == 1
