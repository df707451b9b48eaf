"""Routes: where a staff member is told of alerts: browsers, e-mail, and a test of both."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, current_app, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from ..clock import clock
from ..config import Config
from ..domain.errors import Invalid
from ..extensions import db
from ..services.push_key import push_key
from ..services.staff_channels import staff_channels
from ..services.subscribe_staff import (
    end_subscription,
    set_own_email,
    subscribe_staff,
    try_own_channels,
)
from ..storage import clinics, notices, scope
from ..storage.models import Staff
from ..storage.reach import WORDS
from .forms import typed
from .guard import current_actor, staff_only

bp = Blueprint("staff_push", __name__)
HERE = "/staff/devices"


def channels_here() -> frozenset[str]:
    """The channels to staff that this house has."""
    config: Config = current_app.config["HOMEPROG"]
    return frozenset(staff_channels(config.instance, config.smtp_host, config.webhook_url))


@bp.get("/staff/devices")
@staff_only()
def devices() -> ResponseReturnValue:
    """Where this person is told, and what is still to do."""
    return _page({})


def _page(errors: dict[str, list[str]]) -> ResponseReturnValue:
    by, session = current_actor(), db.session()
    who = scope.get(session, Staff, by.clinic_id, str(by.id))
    config: Config = current_app.config["HOMEPROG"]
    page = render_template(
        "staff_push/devices.html",
        key=push_key(config.instance),
        email=who.email,
        has_email="email" in channels_here(),
        kept=notices.live_subscriptions(session, by.clinic_id).get(who.id, []),
        zone=clinics.clinic_of(session, by.clinic_id).zone,
        form=typed() if errors else {"email": who.email},
        errors=errors,
    )  # fmt: skip
    return page, 422 if errors else 200


@bp.post("/staff/devices")
@staff_only()
def subscribe() -> ResponseReturnValue:
    """Tell this person on this browser."""
    given = {name: request.form.get(name, "") for name in ("endpoint", "p256dh", "auth", "name")}
    extra = current_app.config["HOMEPROG"].push_extra_origins
    by, now, session = current_actor(), clock().now(), db.session()

    def do() -> str:
        subscribe_staff(session, by, now=now, extra_origins=extra, **given)
        return "You are told on this device from now on. Send a test."

    return _done(session, do)


@bp.post("/staff/devices/ending")
@staff_only()
def end() -> ResponseReturnValue:
    """Tell this person on that browser no more."""
    by, now, session = current_actor(), clock().now(), db.session()
    end_subscription(session, by, request.form.get("device", ""), now)
    session.commit()
    flash("You are no longer told on that device.")
    return redirect(HERE, 303)


@bp.post("/staff/email")
@staff_only()
def email() -> ResponseReturnValue:
    """Set the address this person is told at."""
    by, now, session = current_actor(), clock().now(), db.session()

    def do() -> str:
        set_own_email(session, by, request.form.get("email", ""), now)
        return "Your e-mail address is saved."

    return _done(session, do)


@bp.post("/staff/test")
@staff_only()
def test() -> ResponseReturnValue:
    """Send this person a test by every channel that leads to them."""
    by, now, session = current_actor(), clock().now(), db.session()
    went = try_own_channels(session, by, channels_here(), now)
    session.commit()
    if went:
        ways = ", ".join(WORDS[each] for each in dict.fromkeys(went))
        flash(f"A test is on its way by {ways}. It comes within a minute.")
    else:
        flash("No channel leads to you yet.", "error")
    return redirect(HERE, 303)


def _done(session: Session, do: Any) -> ResponseReturnValue:
    try:
        said = do()
    except Invalid as wrong:
        session.rollback()
        return _page(wrong.fields or {"email": [wrong.message]})
    session.commit()
    flash(said)
    return redirect(HERE, 303)
