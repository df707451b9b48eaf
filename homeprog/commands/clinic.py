"""Commands: clinic add, clinic set, text list, text sign."""

from __future__ import annotations

import json
from typing import Any, TextIO

import click
from flask import Flask
from flask.cli import AppGroup

from ..clock import clock
from ..domain.errors import Invalid
from ..extensions import db
from ..services.actor import Actor
from ..services.add_clinic import add_clinic
from ..services.set_clinic import of_clinic, set_clinic
from ..services.sign_text import Text, read_texts, sign_text, standing_of_texts
from ..storage import clinics
from ..storage import staff as stored
from .faults import saying_faults

clinic_group = AppGroup("clinic", help="Clinics: add one, set its numbers, hours and duty.")
text_group = AppGroup("text", help="The clinic's texts: list them, sign them.")


def register(app: Flask) -> None:
    """Add the commands."""
    app.cli.add_command(clinic_group)
    app.cli.add_command(text_group)


def read_json(file: TextIO) -> Any:
    """The file's JSON; Invalid, with line and column, where it is none."""
    try:
        return json.load(file)
    except ValueError as wrong:
        raise Invalid("file", f"{file.name} is not JSON: {wrong}.") from None


@clinic_group.command("add")
@click.argument("name")
@click.option("--zone", required=True, help="IANA name, such as Europe/London.")
def add(name: str, zone: str) -> None:
    """Add a clinic."""
    with saying_faults():
        clinic = add_clinic(db.session(), name, zone, clock().now())
        click.echo(f"Added {clinic.name} ({clinic.zone}).")


@clinic_group.command("set")
@click.argument("clinic")
@click.argument("file", type=click.File(encoding="utf-8"))
def set_(clinic: str, file: TextIO) -> None:
    """Set numbers, emergency, hours, closing_days, duty, waking, settings from a JSON FILE."""
    with saying_faults():
        session, now = db.session(), clock().now()
        where = clinics.named(session, clinic)
        done = set_clinic(session, of_clinic(where), read_json(file), now)
        click.echo(f"Set {', '.join(done) or 'nothing'}.")
        for missing in clinics.missing_for_phones(session, where.id, None, now):
            click.echo(f"Before a phone is paired: {missing}")


@text_group.command("list")
@click.argument("clinic")
@click.option("--language", default="en", show_default=True)
def list_(clinic: str, language: str) -> None:
    """List the texts a phone needs, signed or not."""
    with saying_faults():
        where = clinics.named(db.session(), clinic)
        standing = standing_of_texts(db.session(), where.id, clock().now(), language)
        for key, said in standing.items():
            click.echo(f"{said:<11} {key}")


@text_group.command("sign")
@click.argument("keys", nargs=-1)
@click.option("--all", "every", is_flag=True, help="Every text.")
@click.option("--by", "sign_in", required=True, help="Sign-in of the clinician who signs.")
@click.option("--from", "file", type=click.File(encoding="utf-8"), help="The clinic's own texts.")
@click.option("--language", default="en", show_default=True)
def sign(
    keys: tuple[str, ...], every: bool, sign_in: str, file: TextIO | None, language: str
) -> None:
    """Sign texts: the starting points, or the clinic's own of a JSON file."""
    with saying_faults():
        if not keys and not every:
            raise Invalid("texts", "Name the texts to sign, or --all.")
        by, now = clinician(sign_in), clock().now()
        own = _own_texts(file) if file else None
        signed = sign_text(db.session(), by, None if every else keys, now, own, language)
        click.echo(f"{len(signed)} texts signed.")


def _own_texts(file: TextIO) -> dict[str, Text]:
    given = read_json(file)
    return read_texts(given.get("texts", given) if isinstance(given, dict) else {})


def clinician(sign_in: str) -> Actor:
    """The staff member who acts by command; Invalid for an unknown sign-in."""
    who = stored.by_sign_in(db.session(), sign_in)
    if who is None:
        raise Invalid("by", f"There is no staff member who signs in as {sign_in!r}.")
    mark = stored.profession(db.session(), who.id, clock().now())
    return Actor(who.clinic_id, "staff", who.id, who.role, mark)  # type: ignore[arg-type]
