"""Commands: staff add, staff password."""

from __future__ import annotations

import click
from flask import Flask
from flask.cli import AppGroup

from ..clock import clock
from ..domain.errors import Invalid
from ..extensions import db
from ..services.add_staff import add_staff, renew_password
from ..storage import clinics
from ..storage import staff as stored
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
        _say(who.sign_in, password)


@staff_group.command("password")
@click.argument("sign_in")
def password(sign_in: str) -> None:
    """A new one-time password for somebody who forgot theirs."""
    with saying_faults():
        who = stored.by_sign_in(db.session(), sign_in)
        if who is None:
            raise Invalid("sign_in", f"There is no staff member who signs in as {sign_in!r}.")
        _say(who.sign_in, renew_password(db.session(), who, clock().now(), clock().real()))


def _say(sign_in: str, password: str) -> None:
    click.echo(f"Sign-in: {sign_in}")
    click.echo(f"One-time password: {password}")
    click.echo("It must be changed at the first sign-in.")
