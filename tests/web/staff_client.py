"""A signed-in browser for the tests of staff pages."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from flask import Flask, g
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from homeprog.clock import clock
from homeprog.extensions import db
from homeprog.services.sign_in import hashed
from homeprog.storage.models import Staff, StaffSession


class Browser(FlaskClient):
    """Each request begins with nothing kept, although the test's app context stays open."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        db.session.remove()
        g.pop("_login_user", None)
        try:
            return super().open(*args, **kwargs)
        finally:
            db.session.remove()


def stranger(app: Flask) -> FlaskClient:
    """A browser in which nobody is signed in; forms are sent without their CSRF word."""
    app.config["WTF_CSRF_ENABLED"] = False
    app.test_client_class = Browser
    return app.test_client()


def signed_in(app: Flask, who: Staff) -> FlaskClient:
    """A browser with `who`'s sign-in cookie."""
    client, token = stranger(app), f"secret of {who.sign_in}"
    real = clock().real()
    row = StaffSession(
        clinic_id=who.clinic_id, at=real, staff_id=who.id, token_hash=hashed(token),
        last_seen=real, expires_at=real + timedelta(hours=12),
    )  # fmt: skip
    db.session.add(row)
    db.session.commit()
    client.set_cookie("homeprog_staff", token)
    return client


def settled(who: Staff) -> Staff:
    """Committed, and readable after its database session has gone."""
    db.session.commit()
    db.session.refresh(who)
    db.session.expunge(who)
    return who
