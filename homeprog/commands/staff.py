"""Commands: staff add, staff password, staff change, staff end."""

from __future__ import annotations

import click
from flask import Flask
from flask.cli import AppGroup

from ..clock import clock
from ..domain.errors import Invalid
from ..extensions import db
from ..services.actor import Actor
from ..services.add_staff import add_staff, renew_password
from ..services.change_staff import change_staff
from ..services.end_staff import end_staff, said
from ..storage import clinics
from ..storage import staff as stored
from ..storage.models import Staff
from .faults import saying_faults

staff_group = AppGroup("staff", help="Staff: add, change, end.")


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
        who = _named(sign_in)
        _say(who.sign_in, renew_password(db.session(), who, clock().now(), clock().real()))


@staff_group.command("change")
@click.argument("sign_in")
@click.option("--role", help="enroller, therapist or manager; left out: as it is.")
@click.option(
    "--profession", help="Makes a clinician; 'none' for no clinician; left out: as it is."
)
def change(sign_in: str, role: str | None, profession: str | None) -> None:
    """Change a role or profession; they must sign in again."""
    with saying_faults():
        who, session, now = _named(sign_in), db.session(), clock().now()
        as_it_is = stored.profession(session, who.id, now)
        wanted = {None: as_it_is, "none": None}.get(profession, profession)
        system = Actor(who.clinic_id, "system")
        change_staff(session, system, who.id, role or who.role, wanted, now, clock().real())
        clinician = wanted.replace("_", " ") if wanted else "no clinician"
        click.echo(f"{who.name}: {who.role}, {clinician}. They must sign in again.")


@staff_group.command("end")
@click.argument("sign_in")
def end(sign_in: str) -> None:
    """End an employment at once; says what falls to whom."""
    with saying_faults():
        who = _named(sign_in)
        system = Actor(who.clinic_id, "system")
        told = end_staff(db.session(), system, who.id, clock().now(), clock().real())
        for line in said(told):
            click.echo(line)


def _named(sign_in: str) -> Staff:
    who = stored.by_sign_in(db.session(), sign_in)
    if who is None:
        raise Invalid("sign_in", f"There is no staff member who signs in as {sign_in!r}.")
    return who


def _say(sign_in: str, password: str) -> None:
    click.echo(f"Sign-in: {sign_in}")
    click.echo(f"One-time password: {password}")
    click.echo("It must be changed at the first sign-in.")
