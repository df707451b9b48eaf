"""Commands: dispatch."""

from __future__ import annotations

import click
from flask import Flask, current_app

from ..clock import clock
from ..delivery.post import sender_for
from ..delivery.push import Sender
from ..extensions import db
from ..services.dispatch_prompts import dispatch_due
from ..services.plan_prompts import plan_all


@click.command("dispatch")
@click.option("--once", is_flag=True, help="Run what is due and stop.")
def dispatch(once: bool) -> None:
    """Plan and send reminders that are due."""
    plan_all(db.session(), clock().now())
    click.echo(f"{dispatch_due(db.session(), _sender(), clock().now)} reminders handled.")


def _sender() -> Sender:
    config = current_app.config["HOMEPROG"]
    return sender_for(
        config.instance, config.vapid_subject, clock().real, config.push_extra_origins
    )


def register(app: Flask) -> None:
    """Add the commands."""
    app.cli.add_command(dispatch)
