"""Composition root: config, extensions, clock, blueprints, commands. Nothing imports this."""

from __future__ import annotations

import os
from datetime import timedelta

from flask import Flask, request
from werkzeug.middleware.proxy_fix import ProxyFix

from seed_demo import commands as demo_commands

from .cli import register_commands
from .clock import Clock
from .config import ROOT, Config, read_config
from .extensions import csrf, db, limiter, login, migrate
from .storage import models as _models  # noqa: F401 - migrations need every table
from .storage.demo_clock import demo_offset
from .storage.engine import begin_reading, set_up
from .storage.schema import schema_fault
from .web import register_routes

BY_COMMAND = os.environ.get("FLASK_RUN_FROM_CLI") == "true"  # `flask db upgrade` must get in


def create_app(config: Config | None = None) -> Flask:
    """The app. Raises RuntimeError, naming each fault, on what is not safe to open with."""
    config = config or read_config()
    if faults := config.faults():
        raise RuntimeError("Homeprog does not start:\n- " + "\n- ".join(faults))
    app = Flask(
        "homeprog", template_folder=str(ROOT / "templates"), static_folder=str(ROOT / "static")
    )
    _configure(app, config)
    _extend(app, config)
    _reads_do_not_block_writes(app)
    register_routes(app)
    register_commands(app)
    if config.lenient:
        demo_commands.register(app)
    elif not BY_COMMAND:
        _refuse_old_schema(app)
    return app


def _configure(app: Flask, config: Config) -> None:
    config.instance.mkdir(parents=True, exist_ok=True)
    app.config.update(
        HOMEPROG=config,
        SECRET_KEY=config.secret_key,
        SQLALCHEMY_DATABASE_URI=config.database(),
        SQLALCHEMY_ENGINE_OPTIONS={"pool_pre_ping": True, "hide_parameters": True},
        RATELIMIT_ENABLED=True,
        RATELIMIT_STORAGE_URI="memory://",
        WTF_CSRF_TIME_LIMIT=None,
        WTF_CSRF_SSL_STRICT=config.https,
        SESSION_COOKIE_SECURE=config.https,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        MAX_CONTENT_LENGTH=1 << 20,
        API_TITLE="Homeprog",
        API_VERSION="v1",
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api/v1",
        OPENAPI_JSON_PATH="openapi.json",
    )
    if config.https:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=1, x_proto=1)  # type: ignore[method-assign]


def _extend(app: Flask, config: Config) -> None:
    db.init_app(app)
    migrate.init_app(app, db, directory=str(ROOT / "migrations"), compare_type=True)
    csrf.init_app(app)
    login.init_app(app)
    limiter.init_app(app)
    limiter.enabled = config.mode != "test"  # tests come from one address, many a minute
    with app.app_context():
        set_up(db.engine)

    def offset() -> timedelta:
        return demo_offset(db.session)

    app.extensions["homeprog_clock"] = Clock(offset if config.lenient else None)


def _refuse_old_schema(app: Flask) -> None:
    with app.app_context(), db.engine.connect() as connection:
        if fault := schema_fault(connection, migrate.directory):
            raise RuntimeError(f"Homeprog does not start:\n- The database is {fault}.")


def _reads_do_not_block_writes(app: Flask) -> None:
    @app.before_request
    def open_reads() -> None:
        if request.method in ("GET", "HEAD") and request.endpoint != "static":
            begin_reading(db.session())
