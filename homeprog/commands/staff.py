"""Commands: staff add."""

from __future__ import annotations

import click
from flask import Flask
from flask.cli import AppGroup

from ..clock import clock
from ..extensions import db
from ..services.add_staff import add_staff
from ..storage import clinics
from .faults import saying_faults

staff_group = AppGroup("staff", help="Staff: add somebody.")


def register(app: Flask) -> None:
    """Add the commands."""
    app.cli.add_command(staff_group)


@staff_group.command("add")
@click.argument("clinic")
@click.argument("name")
@click.option("--role", required=True, help="enroller, therapist or manager.")
@click.option("--profession", help="Makes a clinician: hand_therapist, surgeon, nurse, physician.")
def add(clinic: str, name: str, role: str, profession: str | None) -> None:
    """Add a staff member; prints a one-time password."""
    with saying_faults():
        where = clinics.named(db.session(), clinic)
        who, password = add_staff(db.session(), where, name, role, profession, clock().now())
        click.echo(f"Sign-in: {who.sign_in}")
        click.echo(f"One-time password: {password}")
        click.echo("It must be changed at the first sign-in.")
