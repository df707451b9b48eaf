"""flask audit: whether the sealed trail is whole."""

from __future__ import annotations

from flask import Flask
from sqlalchemy import text, update

from homeprog.clock import clock
from homeprog.extensions import db
from homeprog.jobs import run_minute
from homeprog.services.keep_audit import keep
from homeprog.storage.models import Audit
from tests import cast


def test_the_trail_is_whole_until_somebody_changes_a_row(app: Flask) -> None:
    session, now = db.session(), clock().now()
    who = cast.staff(session, cast.clinic(session, now), now)
    keep(session, cast.acting(who), "did", who, now)
    session.commit()
    run_minute(session, clock().now())
    good = app.test_cli_runner().invoke(args=["audit"])
    assert good.exit_code == 0
    assert "ok    Harbour Hand Unit: 1 rows sealed, last mark" in good.output
    session.execute(update(Audit).values(act="did_nothing"))
    session.commit()
    bad = app.test_cli_runner().invoke(args=["audit"])
    assert bad.exit_code == 1
    assert "BROKEN at row 1" in bad.output


def test_a_statement_that_fails_does_not_tell_its_values(app: Flask) -> None:
    """Errors are logged: what a patient said has no place there."""
    said = ""
    try:
        db.session.execute(text("INSERT INTO nowhere VALUES (:name)"), {"name": "Grace Obi"})
    except Exception as error:
        said = str(error)
        db.session.rollback()
    assert "nowhere" in said
    assert "Grace Obi" not in said
