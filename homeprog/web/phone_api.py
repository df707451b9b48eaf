"""JSON for the phone: its own patient's plan, uploads, contacts and receipts."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

from flask import Response, current_app, json, jsonify, request
from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint

from ..clock import clock
from ..config import Config
from ..domain.errors import Conflict
from ..extensions import db, limiter
from ..services.actor import Actor
from ..services.calendar_times import calendar_mark
from ..services.catch_up import catch_up
from ..services.hand_over import end_handed_over
from ..services.mark_contact import hear_phone, hear_word, mark_contact
from ..services.mark_receipt import mark_receipt
from ..services.pair_phone import claim_pairing, end_device
from ..services.phone_plan import phone_plan, plan_version
from ..services.push_key import push_key
from ..services.subscribe_phone import subscribe_phone
from ..services.take_upload import Upload, take_upload
from ..storage.courses import courses_of
from ..storage.engine import begin_reading
from ..storage.models import Device
from ..storage.touches import touched
from .device_guard import (
    csrf_of,
    current_device,
    device_actor,
    device_only,
    drop_cookie,
    open_course_only,
    paired_device,
    sender_only,
    set_cookie,
)
from .schemas.phone import (
    ClaimAnswerSchema,
    ClaimSchema,
    ContactAnswerSchema,
    ContactSchema,
    ReceiptSchema,
    SubscriptionSchema,
    UploadAnswerSchema,
    UploadSchema,
    read_item,
)

bp = Blueprint("phone_api", __name__, url_prefix="/api/v1/phone")
pairing_bp = Blueprint("pairings", __name__, url_prefix="/api/v1/pairings")

CLAIMS = "10 per minute; 60 per hour"  # of one address


def iso(instant: datetime) -> str:
    """An instant for the phone, with milliseconds: its clock is set by it."""
    return instant.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


@bp.after_request
@pairing_bp.after_request
def tell_the_time(response: Response) -> Response:
    """Refusals too carry the server's time."""
    if response.status_code >= 400 and response.is_json:
        told = {**response.get_json(), "server_time": iso(clock().now())}
        response.set_data(json.dumps(told))
    response.headers["Cache-Control"] = "no-store"
    return response


@pairing_bp.post("/claims")
@limiter.limit(CLAIMS)
@pairing_bp.arguments(ClaimSchema)
@pairing_bp.response(201, ClaimAnswerSchema)
def claim(told: dict[str, Any]) -> ResponseReturnValue:
    """Pair this phone, by the secret of a link or by a typed code and number."""
    now, before = clock().now(), paired_device()
    device, token, csrf = claim_pairing(
        db.session(),
        **told,
        secret_key=_config().secret_key,
        real_now=clock().real(),
        now=now,
    )
    if before is not None:
        if before.patient_id != device.patient_id:
            said = "This phone is still paired with another patient. Unpair it first."
            raise Conflict("already_paired_other_patient", said)
        end_device(
            db.session(), Actor(before.clinic_id, "device", before.id), before.id, "replaced", now
        )
    answer = jsonify(
        csrf=csrf,
        device=str(device.id),
        whose=device.whose,
        courses=_courses(device),
        server_time=iso(now),
    )
    db.session.commit()
    set_cookie(answer, token)
    return answer, 201


def _courses(device: Device) -> list[str]:
    """All of its patient's, closed ones too: a phone keeps apart what it holds of others."""
    return [str(course.id) for course in courses_of(db.session(), device.patient_id)]


@bp.delete("/device")
@device_only
@bp.response(204)
def unpair() -> ResponseReturnValue:
    """Leave this patient; the phone has sent what it held."""
    end_device(db.session(), device_actor(), current_device().id, "unpaired", clock().now())
    db.session.commit()
    answer = current_app.response_class(status=204)
    drop_cookie(answer)
    return answer


@bp.get("/plan")
@device_only
@bp.response(200)
def plan() -> ResponseReturnValue:
    """All the phone shows and asks for; that it was fetched is a contact.

    ?held= names the drawings it has, by their hashes: they are not sent again.
    """
    now, device, by = clock().now(), current_device(), device_actor()
    first = device.plan_version is None
    _catch_up(device.patient_id, now)
    held = frozenset(request.args.get("held", "").split(","))
    told = phone_plan(db.session(), device, now, held)
    told |= {
        "csrf": csrf_of(device),
        # A phone may have lost its memory, or the answer to its claim.
        "device": {
            "id": str(device.id),
            "whose": device.whose,
            "courses": _courses(device),
            "since": iso(device.at),
        },
        "server_time": iso(now),
        "push": {"key": push_key(_config().instance)},
    }
    answer = jsonify(told)
    db.session.rollback()  # the reading is over: the mark is written in a transaction of its own
    mark_contact(db.session(), by, current_device(), "plan", False, told["version"], now)
    if first:
        end_handed_over(db.session(), current_device(), now)
    db.session.commit()
    return answer


def _catch_up(patient: uuid.UUID, now: datetime) -> None:
    """Sum up what is behind: to a plan the phone adds only what it logged after fetching it."""
    if not touched(db.session(), patient, now):
        return
    db.session.rollback()  # it was opened for reading
    catch_up(db.session(), patient, now)
    db.session.commit()
    begin_reading(db.session())


@bp.post("/contacts")
@device_only
@bp.arguments(ContactSchema)
@bp.response(200, ContactAnswerSchema)
def contact(told: dict[str, Any]) -> ResponseReturnValue:
    """The phone says what waits there; it is told which plan is in force."""
    now, device = clock().now(), current_device()
    hear_phone(
        db.session(),
        device_actor(),
        device,
        told["outbox_left"],
        told["plan_version"],
        told["push"],
        told["via"],
        now,
        told["reminding"],
    )
    version = plan_version(db.session(), device.patient_id, now)
    by_calendar = told["reminding"] == "calendar"
    mark = calendar_mark(db.session(), device, now) if by_calendar else None
    db.session.commit()
    return jsonify(server_time=iso(now), plan_version=version, calendar=mark)


@bp.post("/uploads")
@sender_only
@bp.arguments(UploadSchema)
@bp.response(200, UploadAnswerSchema)
def upload(told: dict[str, Any]) -> ResponseReturnValue:
    """Store what was entered; the phone forgets an item only when it is named as stored."""
    now, device, patient = clock().now(), current_device(), current_device().patient_id
    items = [read_item(raw) for raw in told["items"]]
    sent = Upload(items, told["outbox_left_after"], told["plan_version"])
    results = take_upload(db.session(), device_actor(), device, sent, now)
    db.session.commit()  # before the look at the plan: others may write meanwhile
    begin_reading(db.session())
    version = plan_version(db.session(), patient, now)
    outcomes = [each.as_json() for each in results]
    return jsonify(server_time=iso(now), plan_version=version, results=outcomes)


@bp.post("/subscriptions")
@device_only
@open_course_only
@bp.arguments(SubscriptionSchema)
@bp.response(201)
def subscription(told: dict[str, Any]) -> ResponseReturnValue:
    """Where reminders for this phone are sent."""
    now, keys = clock().now(), told["keys"]
    subscribe_phone(
        db.session(),
        device_actor(),
        told["endpoint"],
        keys["p256dh"],
        keys["auth"],
        now,
        _config().push_extra_origins,
    )
    current_device().push_state = "granted"
    db.session.commit()
    return jsonify(server_time=iso(now)), 201


@bp.post("/receipts")
@device_only
@bp.arguments(ReceiptSchema)
@bp.response(204)
def receipt(told: dict[str, Any]) -> ResponseReturnValue:
    """A reminder was shown or tapped."""
    now, by = clock().now(), device_actor()
    mark_receipt(db.session(), by, told["send"], told["what"], told["at"], now)
    hear_word(db.session(), by, current_device(), "receipt", told["outbox_left"], None, now)
    db.session.commit()
    return "", 204


def _config() -> Config:
    found: Config = current_app.config["HOMEPROG"]
    return found
