"""How a command says what was refused: a line each on the error output, exit 1."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import click

from ..domain.errors import HomeprogError
from ..extensions import db


@contextmanager
def saying_faults() -> Iterator[None]:
    """Commit at the end; on a refusal roll back, print every fault and leave with 1."""
    try:
        yield
        db.session.commit()
    except HomeprogError as refused:
        db.session.rollback()
        click.echo(refused.message, err=True)
        for path, messages in refused.fields.items():
            for message in messages:
                click.echo(f"  {path}: {message}", err=True)
        raise SystemExit(1) from None
