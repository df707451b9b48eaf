"""Commands: dispatch."""

from __future__ import annotations

import click
from flask import Flask

from ..clock import clock
from ..config import Config
from ..delivery.post import sender_for
from ..delivery.push_keys import public_key
from ..extensions import db, migrate
from ..jobs import carriers_of, run_due, run_forever
from ..storage.schema import schema_fault


def register(app: Flask) -> None:
    """Add the command."""

    @app.cli.command("dispatch")
    @click.option("--once", is_flag=True, help="Run what is due now and stop.")
    def dispatch(once: bool) -> None:
        """Run every timed job: reminders, day figures, alerts. One process does this."""
        config: Config = app.config["HOMEPROG"]
        if not config.lenient and (
            fault := schema_fault(db.session.connection(), migrate.directory)
        ):
            raise click.ClickException(f"The database is {fault}.")
        if public_key(config.instance) is None:
            click.echo("No VAPID keys: reminders reach no phone. Run `flask vapid keys`.", err=True)
        if once:
            _run_once(config)
        else:
            run_forever(app)


def _run_once(config: Config) -> None:
    real, extra = clock().real, config.push_extra_origins
    run_due(
        db.session(),
        clock().now(),
        sender_for(config.instance, config.vapid_subject, real, extra),
        carriers_of(config),
        config.origin,
    )
