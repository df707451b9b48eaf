"""Routes: the manager's page; and what every staff page says of who is woken."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from flask import Blueprint, render_template
from flask.blueprints import BlueprintSetupState
from flask.typing import ResponseReturnValue
from flask_login import current_user

from ..clock import clock
from ..extensions import db
from ..storage import clinics, notices, staff
from ..storage.alert_figures import DAYS, figures
from ..storage.models import Alert
from ..storage.notices import CHANNELS
from ..storage.reach import WORDS, Reach, everybody, reach
from .guard import current_actor, staff_only
from .staff_push import channels_here

bp = Blueprint("alert_figures", __name__)


@bp.get("/manager")
@staff_only("manager")
def page() -> ResponseReturnValue:
    """Channels, who is reached, and how the clinic lives with its alerts."""
    by, now, session = current_actor(), clock().now(), db.session()
    here = channels_here()
    return render_template(
        "manager/manager.html",
        channels=[(WORDS[each], each, each in here) for each in CHANNELS],
        people=everybody(session, by.clinic_id, now, here),
        told=reach_now(now),
        figures=figures(session, by.clinic_id, now),
        days=DAYS,
        zone=clinics.clinic_of(session, by.clinic_id).zone,
        now=now,
    )


def reach_now(now: datetime | None = None) -> Reach:
    """Who is on duty in this clinic and by which ways they are reached, at the page's now."""
    clinic = current_user.clinic
    return reach(db.session(), clinic.id, clinic.zone, now or clock().now(), channels_here())


def told_of(row: Alert) -> list[dict[str, Any]]:
    """Who was told of an alert, when, by what, and what became of it."""
    sent = notices.of_alert(db.session(), row.id)
    names = staff.names(db.session(), row.clinic_id, [each.staff_id for each in sent])
    return [
        {"at": each.at, "name": names.get(each.staff_id, "somebody"), "outcome": each.outcome,
         "way": WORDS.get(each.channel), "sent": each.state == "sent"}
        for each in sent
    ]  # fmt: skip


def span(length: timedelta | None) -> str:
    """'12 min', '3 h 05 min'; '-' where there is none."""
    if length is None:
        return "-"
    minutes = round(length / timedelta(minutes=1))
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02} min"


@bp.record_once
def _on_register(state: BlueprintSetupState) -> None:
    state.app.jinja_env.filters["span"] = span
    state.app.jinja_env.globals["reach_now"] = reach_now
    state.app.jinja_env.globals["told_of"] = told_of
