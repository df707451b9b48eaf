"""flask --app app demo ...: load, advance, and what `make demo` needs around them."""

from __future__ import annotations

import gc
import json
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click
from flask import Flask, current_app
from flask.cli import AppGroup
from sqlalchemy import Engine, event, select
from sqlalchemy.orm import Session

from homeprog.clock import clock
from homeprog.config import Config
from homeprog.domain.errors import HomeprogError
from homeprog.extensions import db as extension
from homeprog.services.actor import Actor
from homeprog.services.pair_phone import create_pairing
from homeprog.storage.models import Clinic, Identifier

from .demo_time import go_on, note_seen, parse_span, set_demo_now
from .load import bar, load
from .people import ENDS, STAFF, WAITING
from .play import invented_phones, play
from .truth import rows, table

TICK = timedelta(minutes=5)
group = AppGroup("demo", help="The invented clinic.")


def register(app: Flask) -> None:
    """Add the commands and the banner's button; in the demo alone."""
    app.cli.add_command(group)
    app.extensions["homeprog_demo_advance"] = advance


def _kept(name: str) -> Path:
    config: Config = current_app.config["HOMEPROG"]
    return config.instance / name


def _db() -> Session:
    return extension.session()


@group.command("load")
def load_command() -> None:
    """Twelve weeks of the invented clinic; a load that was cut short starts again from nothing."""
    _hurry(extension.engine)
    db = _db()
    if _kept("demo.loaded").exists():
        click.echo("The demo clinic is loaded already.")
        return
    if db.scalars(select(Clinic.id)).first():
        raise click.ClickException("This database is not empty. Remove it and load again.")
    load(db, _kept("demo.sign_ins"), _teller())
    set_demo_now(db, ENDS.astimezone(UTC), clock().real())
    db.commit()
    note_seen(db, _kept("demo.clock"), clock().real())
    _kept("demo.loaded").touch()
    click.echo()


def _hurry(engine: Engine) -> None:
    """A load that is cut short starts again from nothing: its commits need not be durable.

    Collecting garbage seldom spares a fifth of its time: there are rows by the ten thousand.
    """
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", lambda c, _: c.execute("PRAGMA synchronous = OFF"))
        engine.dispose()


def _teller() -> Callable[[float], None]:
    """Shows the part done: on a terminal all the time, in a file a line each tenth."""
    told = -1

    def tell(part: float) -> None:
        nonlocal told
        if sys.stdout.isatty() or int(part * 10) > told:
            told = int(part * 10)
            click.echo(bar(part), nl=not sys.stdout.isatty())

    return tell


def advance(span_words: str) -> str:
    """Play the clinic on by '1h', '1d' ...; says so. ValueError on other words."""
    span = parse_span(span_words)
    db = _db()
    since = clock().now()

    def tell(reached: datetime) -> None:
        """The clock moves with each span, so that the dispatcher never works in the past."""
        set_demo_now(db, reached, clock().real())
        db.commit()

    play(db, invented_phones(db), [], since, since + span, TICK, tell)
    note_seen(db, _kept("demo.clock"), clock().real())
    return f"The demo's clock went on by {span_words}."


@group.command("advance")
@click.argument("span")
def advance_command(span: str) -> None:
    """Play on by 30m, 1h, 1d ..., every job included."""
    if not _running():
        go_on(_db(), _kept("demo.clock"), clock().real())
    try:
        click.echo(advance(span))
    except ValueError as error:
        raise click.ClickException(str(error)) from None


@group.command("truth")
def truth_command() -> None:
    """What the invented patients truly did, and which alerts told of it, as a table."""
    for line in table(rows(_db(), clock().now())):
        click.echo(line)


def _running() -> bool:
    """Whether `make demo` runs now and keeps the clock."""
    kept = _kept("demo.running")
    return kept.exists() and Path(f"/proc/{kept.read_text().strip()}").exists()


@group.command("started")
def started() -> None:
    """Start the clock from where it stood."""
    db = _db()
    go_on(db, _kept("demo.clock"), clock().real())
    db.commit()


@group.command("welcome")
@click.option("--port", type=int, default=8000)
def welcome(port: int) -> None:
    """The four sign-ins, and a fresh pairing link and code."""
    passwords = json.loads(_kept("demo.sign_ins").read_text())
    click.echo(f"\nHomeprog demo: http://localhost:{port}   (everyone here is invented)\n")
    for member in STAFF:
        what = member.profession.replace("_", " ") if member.profession else member.role
        click.echo(f"  {what:15} sign-in {member.sign_in:6} password {passwords[member.sign_in]}")
    click.echo("\n" + _pairing(port))
    click.echo("Ctrl-C stops everything; the next start goes on from there.\n")


def _pairing(port: int) -> str:
    db = _db()
    number = db.scalars(select(Identifier).where(Identifier.value == WAITING.number)).one()
    by = Actor(number.clinic_id, "system")
    try:
        made = create_pairing(db, by, number.patient_id, clock().real(), clock().now())
    except HomeprogError as error:
        return f"No pairing link: {error.message}"
    db.commit()
    return (
        f"  A phone for {WAITING.name} ({WAITING.number}), for 10 minutes; in another browser:\n"
        f"  {made.link(f'http://localhost:{port}')}\n"
        f"  or type the code {made.code} with the number {WAITING.number}\n"
    )
