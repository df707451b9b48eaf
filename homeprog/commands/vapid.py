"""Commands: vapid keys."""

from __future__ import annotations

import click
from flask import Flask, current_app
from flask.cli import AppGroup

from ..delivery.push_keys import make_once, public_key

vapid = AppGroup("vapid", help="The key pair that push services know this server by.")


@vapid.command("keys")
def keys() -> None:
    """Make the key pair once; say the public key. Phones must subscribe anew if it is lost."""
    instance = current_app.config["HOMEPROG"].instance
    made = make_once(instance)
    click.echo("Made the key pair." if made else "The key pair is there; it was left as it is.")
    click.echo(f"Public key: {public_key(instance)}")


def register(app: Flask) -> None:
    """Add the commands."""
    app.cli.add_command(vapid)
