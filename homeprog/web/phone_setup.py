"""JSON by which a phone is set up: handing over to its home screen, a test reminder, a calendar."""

from __future__ import annotations

from typing import Any

from flask import Response, jsonify
from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint

from ..clock import clock
from ..domain.errors import Conflict
from ..extensions import db, limiter
from ..services.calendar_times import tell_calendar
from ..services.hand_over import hand_over
from ..services.try_reminder import Trial, look_at_test, try_reminder
from .device_guard import current_device, device_actor, device_only, open_course_only
from .phone_api import iso, tell_the_time
from .schemas.phone import CalendarSchema, HandOverSchema, TrialQuerySchema, TrialSchema

bp = Blueprint("phone_setup", __name__, url_prefix="/api/v1/phone")
bp.after_request(tell_the_time)

AT_MOST = "6 per minute; 60 per hour"  # of one address


@bp.post("/hand-overs")
@limiter.limit(AT_MOST)
@device_only
@bp.response(201, HandOverSchema)
def hand_over_code() -> ResponseReturnValue:
    """A code by which the app on this phone's home screen takes this phone's place."""
    now = clock().now()
    made = hand_over(db.session(), device_actor(), clock().real(), now)
    db.session.commit()
    return jsonify(code=made.code, minutes=made.minutes, server_time=iso(now)), 201


@bp.post("/test-reminders")
@limiter.limit(AT_MOST)
@device_only
@open_course_only
@bp.response(201, TrialSchema)
def test_reminder() -> ResponseReturnValue:
    """Send a test reminder to this phone."""
    trial = try_reminder(db.session(), device_actor(), clock().now())
    db.session.commit()
    return _told(trial), 201


@bp.get("/test-reminders")
@device_only
@bp.arguments(TrialQuerySchema, location="query")
@bp.response(200, TrialSchema)
def test_reminder_state(asked: dict[str, Any]) -> ResponseReturnValue:
    """How far it has come; 'arrived' when the phone has said that it showed it."""
    return _told(look_at_test(db.session(), device_actor(), asked["send"]))


@bp.get("/calendar")
@device_only
@open_course_only
@bp.response(200, CalendarSchema)
def calendar() -> ResponseReturnValue:
    """A calendar file for the phone to import. Raises Conflict while nothing is planned."""
    now = clock().now()
    made = tell_calendar(db.session(), current_device(), now)
    if made is None:
        raise Conflict("nothing_planned", "There is nothing to ring for yet.")
    said = {"file": made.text, "last": made.last.isoformat(), "mark": made.mark}
    return jsonify(said | {"server_time": iso(now)})


def _told(trial: Trial) -> Response:
    now = clock().now()
    return jsonify(send=str(trial.send.id), state=trial.state, server_time=iso(now))
