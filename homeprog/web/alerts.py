"""Routes: one alert, taken up and settled."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Blueprint, flash, redirect, render_template
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain import alert
from ..domain.errors import Conflict, Invalid
from ..extensions import db
from ..services.quote_text import quote_text
from ..services.review_course import review_course
from ..services.settle_alert import settle_alert
from ..services.take_up_alert import take_up_alert
from ..storage import alerts as stored
from ..storage import clinics, scope, staff
from ..storage.models import Alert, Course
from .forms import load, typed
from .guard import current_actor, staff_only
from .review import told
from .schemas.review import SettlementSchema
from .words import short_moment

bp = Blueprint("alerts", __name__)


@bp.get("/alerts/<alert_id>")
@staff_only()
def one(alert_id: str) -> ResponseReturnValue:
    """The alert, whose it is, and what happened to it."""
    return _page(alert_id)


@bp.post("/alerts/<alert_id>/taking-up")
@staff_only()
def take_up(alert_id: str) -> ResponseReturnValue:
    """Take it up; a second click, or a colleague's, is told who has."""
    now, by = clock().now(), current_actor()
    try:
        row = take_up_alert(db.session(), by, alert_id, now)
        db.session.commit()
        flash("You have taken this up. Say below what was done once it is.")
    except Conflict:
        db.session.rollback()
        row = scope.get(db.session(), Alert, by.clinic_id, alert_id)
        flash(stands(row, now), "error")
    return redirect(f"/alerts/{row.id}", 303)


@bp.post("/alerts/<alert_id>/settlement")
@staff_only()
def settle(alert_id: str) -> ResponseReturnValue:
    """Settle it with what was done; what was typed is kept where that cannot be."""
    now, by = clock().now(), current_actor()
    row = scope.get(db.session(), Alert, by.clinic_id, alert_id)
    try:
        settle_alert(db.session(), by, alert_id, now=now, **load(SettlementSchema(), typed()))
    except Invalid as wrong:
        db.session.rollback()
        return _page(alert_id, wrong.fields or {"done": [wrong.message]}), 422
    except Conflict:
        db.session.rollback()
        flash(stands(row, now), "error")
        return redirect(f"/alerts/{alert_id}", 303)
    db.session.commit()
    flash("Settled.")
    return redirect(f"/courses/{row.course_id}", 303)


def _page(alert_id: str, errors: dict[str, list[str]] | None = None) -> str:
    now, by = clock().now(), current_actor()
    row = scope.get(db.session(), Alert, by.clinic_id, alert_id)
    course = scope.get(db.session(), Course, by.clinic_id, row.course_id)
    review = review_course(db.session(), course, now)
    zone = clinics.clinic_of(db.session(), by.clinic_id).zone
    return render_template(
        "alerts/alert.html", review=review, each=told(review, row, zone), zone=zone, by=by,
        done=alert.DONE, form=typed(), errors=errors, quoted=quote_text(db.session(), course, row),
    )  # fmt: skip


def stands(row: Alert, now: datetime) -> str:
    """Who moved the alert last, in a sentence: 'Anna Berg took this up at 14:10.'"""
    zone = clinics.clinic_of(db.session(), row.clinic_id).zone
    moved = [each for each in stored.events_of(db.session(), [row.id])[row.id] if _moves(each)]
    if not moved:
        return "This alert is open."
    last = moved[-1]
    who = staff.names(db.session(), row.clinic_id, [last.by_id])
    when = short_moment(last.at, zone, now)
    if last.what == "passed":
        return f"This alert has passed, {when}: its grounds are gone."
    did = "took this up" if last.what == "taken_up" else "settled this"
    return f"{_named(who, last)} {did}, {when}."


def _moves(event: Any) -> bool:
    return event.what in ("taken_up", "settled", "passed")


def _named(names: Any, event: Any) -> str:
    if event.by_id == current_actor().id:
        return "You"
    return str(names.get(event.by_id, "A colleague"))
