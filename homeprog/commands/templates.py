"""Commands: template list, adopt, approve."""

from __future__ import annotations

import click
from flask import Flask
from flask.cli import AppGroup

from ..clock import clock
from ..domain.errors import NotFound
from ..extensions import db
from ..services.actor import Actor
from ..services.adopt_template import adopt_template, approve_template, starting_points
from ..storage import clinics, regimes, staff
from .faults import saying_faults

template_group = AppGroup("template", help="Templates: list, adopt, approve.")


def register(app: Flask) -> None:
    """Add the commands."""
    app.cli.add_command(template_group)


@template_group.command("list")
@click.argument("clinic")
def listing(clinic: str) -> None:
    """List a clinic's templates and the starting points it has not adopted."""
    with saying_faults():
        where = clinics.named(db.session(), clinic)
        there = regimes.templates(db.session(), where.id)
        for each in there:
            row = each.template
            click.echo(f"{row.key}, version {row.version}: {row.name}: {each.words}")
        kept = {each.template.key for each in there if not each.withdrawn}
        for key, start in starting_points().items():
            if key not in kept:
                click.echo(f"{key}: {start.name}: waits for adoption")


@template_group.command("adopt")
@click.argument("key")
@click.option("--by", "sign_in", required=True, help="Sign-in of the clinician who adopts it.")
def adopt(key: str, sign_in: str) -> None:
    """Adopt a starting point."""
    with saying_faults():
        row = adopt_template(db.session(), _clinician(sign_in), key, clock().now())
        click.echo(f"{row.key}, version {row.version}: adopted, waits for approval")


@template_group.command("approve")
@click.argument("key")
@click.option("--by", "sign_in", required=True, help="Sign-in of the clinician who approves it.")
@click.option("--reason", default="", help="Needed from a unit's only clinician.")
def approve(key: str, sign_in: str, reason: str) -> None:
    """Approve the newest version of an adopted template."""
    with saying_faults():
        by = _clinician(sign_in)
        there = regimes.versions(db.session(), by.clinic_id, key)
        if not there:
            raise NotFound("template")
        approve_template(db.session(), by, there[0].template.id, clock().now(), reason)
        click.echo(f"{key}, version {there[0].template.version}: approved")


def _clinician(sign_in: str) -> Actor:
    """The staff member of a sign-in, as the one who acts."""
    who = staff.by_sign_in(db.session(), sign_in)
    if who is None or who.ended_at is not None:
        raise NotFound("staff")
    mark = staff.profession(db.session(), who.id, clock().now())
    return Actor(who.clinic_id, "staff", who.id, who.role, mark)  # type: ignore[arg-type]
