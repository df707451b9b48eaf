"""Commands: audit."""

from __future__ import annotations

import click
from flask import Flask

from ..extensions import db
from ..services.seal_audit import chain_of
from ..storage import clinics


def register(app: Flask) -> None:
    """Add the command."""
    app.cli.add_command(audit)


@click.command("audit")
def audit() -> None:
    """Work each clinic's sealed audit trail out anew; exit 1 where a row was changed or is missing.

    Note the last mark somewhere else: a trail whose end was cut off shows another one.
    """
    broken = False
    for clinic in clinics.all_clinics(db.session()):
        told = chain_of(db.session(), clinic.id)
        broken = broken or told.broken_at is not None
        state = "ok   " if told.broken_at is None else f"BROKEN at row {told.broken_at}:"
        last = told.mark[:16] or "none"
        click.echo(f"{state} {clinic.name}: {told.rows} rows sealed, last mark {last}, "
                   f"{told.waiting} waiting")  # fmt: skip
    if broken:
        raise SystemExit(1)
