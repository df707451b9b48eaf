"""The phone's routes: who may call, what comes back, and what is kept."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select
from werkzeug.test import TestResponse

from homeprog.extensions import db
from homeprog.services.actor import Actor
from homeprog.services.pair_phone import create_pairing, end_device, hashed
from homeprog.storage.courses import courses_of
from homeprog.storage.models import (
    BoutRow,
    ClinicSetting,
    ContactMarkRow,
    Course,
    CourseEvent,
    Device,
    Staff,
    Touch,
)

from .. import cast
from ..hour import AT
from ..services.prompt_cast import revise
from ..upload_cast import bout, told, trouble


class Phone:
    """A browser that holds a phone's cookie and its CSRF word."""

    def __init__(self, client: FlaskClient) -> None:
        self.client = client
        self.csrf = ""
        self.course = ""
        self.device = ""

    def call(
        self, method: str, path: str, body: Any = None, csrf: str | None = None
    ) -> TestResponse:
        headers = {"X-CSRF-Token": self.csrf if csrf is None else csrf}
        answer = self.client.open(f"/api/v1{path}", method=method, json=body, headers=headers)
        db.session.remove()  # as the end of a request does outside of tests
        return answer

    def upload(self, *items: Any, left: int = 0) -> TestResponse:
        body = {"outbox_left_after": left, "plan_version": None, "items": list(items)}
        return self.call("POST", "/phone/uploads", body)


NOW = AT


def invited(name: str = "Harbour Hand Unit", number: str = "SH 40217") -> tuple[Any, str, str]:
    """A confirmed course of a new clinic, with a link's secret and a typed code."""
    where = cast.clinic(db.session, NOW, name)
    who = cast.staff(db.session, where, NOW)
    cast.signed(db.session, who, NOW)
    course = cast.confirmed(db.session, who, NOW - timedelta(days=1), number=number)
    made = create_pairing(db.session, cast.acting(who), course.patient_id, NOW, NOW)
    db.session.commit()
    return course, made.secret, made.code


@pytest.fixture
def phone(app: Flask) -> Phone:
    course, secret, _ = invited()
    course_id = course.id
    phone = Phone(app.test_client())
    answer = phone.call("POST", "/pairings/claims", {"secret": secret, "whose": "patient"})
    assert answer.status_code == 201, answer.json
    assert answer.json is not None
    phone.csrf, phone.device, phone.course = (
        answer.json["csrf"],
        answer.json["device"],
        str(course_id),
    )
    return phone


def test_a_link_pairs_one_phone_once_with_a_cookie_no_script_can_read(app: Flask) -> None:
    _, secret, _ = invited()
    phone = Phone(app.test_client())
    first = phone.call("POST", "/pairings/claims", {"secret": secret, "whose": "carer"})
    cookie = first.headers["Set-Cookie"]
    assert cookie.startswith("homeprog_phone=")
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    again = Phone(app.test_client()).call("POST", "/pairings/claims", {"secret": secret})
    assert (again.status_code, code(again)) == (410, "pairing_used")


def test_the_typed_code_pairs_with_the_patient_s_number_only(app: Flask) -> None:
    _, _, typed = invited()
    phone = Phone(app.test_client())
    wrong = phone.call("POST", "/pairings/claims", {"code": typed, "number": "SH 1"})
    assert (wrong.status_code, code(wrong)) == (404, "pairing_unknown")
    right = phone.call("POST", "/pairings/claims", {"code": typed.lower(), "number": "SH 40217"})
    assert right.status_code == 201


def test_the_token_is_kept_hashed(phone: Phone) -> None:
    cookie = phone.client.get_cookie("homeprog_phone")
    assert cookie is not None
    assert db.session.scalars(select(Device.token_hash)).all() == [hashed(cookie.value)]


def test_a_phone_of_another_patient_is_not_paired_over_and_the_link_stays_good(
    phone: Phone, app: Flask
) -> None:
    _, secret, _ = invited("Quay Hand Unit", "SH 50001")
    answer = phone.call("POST", "/pairings/claims", {"secret": secret})
    assert (answer.status_code, code(answer)) == (409, "already_paired_other_patient")
    assert (
        Phone(app.test_client()).call("POST", "/pairings/claims", {"secret": secret}).status_code
        == 201
    )


def code(answer: TestResponse) -> str:
    assert answer.json is not None
    assert "server_time" in answer.json
    return str(answer.json["error"]["code"])


CALLS: list[tuple[str, str, Any]] = [
    ("GET", "/phone/plan", None),
    ("POST", "/phone/contacts", {"outbox_left": 0}),
    ("POST", "/phone/uploads", {"outbox_left_after": 0, "items": [{}]}),
    ("POST", "/phone/subscriptions", {}),
    ("POST", "/phone/receipts", {}),
    ("DELETE", "/phone/device", None),
]


@pytest.mark.parametrize(("method", "path", "body"), CALLS)
def test_nobody_without_a_phone_s_cookie_is_let_in(
    app: Flask, method: str, path: str, body: Any
) -> None:
    answer = Phone(app.test_client()).call(method, path, body)
    assert (answer.status_code, code(answer)) == (401, "not_paired")


@pytest.mark.parametrize(("method", "path", "body"), CALLS)
def test_a_revoked_phone_is_told_so(phone: Phone, method: str, path: str, body: Any) -> None:
    device = db.session.scalars(select(Device)).one()
    by = Actor(device.clinic_id, "system")
    end_device(db.session(), by, device.id, "revoked", datetime.now(UTC))
    db.session.commit()
    answer = phone.call(method, path, body)
    assert (answer.status_code, code(answer)) == (401, "device_revoked")


@pytest.mark.parametrize(("method", "path", "body"), CALLS[1:])
def test_a_writing_call_without_the_csrf_word_changes_nothing(
    phone: Phone, method: str, path: str, body: Any
) -> None:
    answer = phone.call(method, path, body, csrf="guessed")
    assert (answer.status_code, code(answer)) == (403, "csrf")
    assert db.session.scalars(select(ContactMarkRow)).all() == []


def test_the_plan_carries_the_csrf_word_and_its_fetching_proves_no_empty_outbox(
    phone: Phone,
) -> None:
    answer = phone.call("GET", "/phone/plan")
    assert answer.status_code == 200
    assert answer.json is not None
    assert answer.json["csrf"] == phone.csrf
    assert [course["id"] for course in answer.json["courses"]] == [phone.course]
    assert answer.json["device"] == {
        "id": phone.device, "whose": "patient", "courses": [phone.course],
        "since": answer.json["device"]["since"],
    }  # fmt: skip
    since = datetime.fromisoformat(answer.json["device"]["since"])
    assert abs(since - db.session.scalars(select(Device.at)).one()) < timedelta(milliseconds=1)
    (mark,) = db.session.scalars(select(ContactMarkRow)).all()
    assert (mark.kind, mark.outbox_empty) == ("plan", False)
    assert mark.plan_version == answer.json["version"]


def test_a_plan_counts_what_was_sent_a_moment_before(phone: Phone) -> None:
    """The phone itself adds only what it logs after fetching it: no job has run in between."""
    course = db.session.get_one(Course, uuid.UUID(phone.course))
    therapist = db.session.scalars(select(Staff)).one()
    revise(db.session, course, therapist, course.at, "bend")
    db.session.commit()
    now = datetime.now(UTC)
    ended = [slot for slot in slots_of(phone) if slot["end"] <= told(now)][-1]
    filled = {"exercise": "bend", "how": "later", "done_at": None, "slot_start": ended["start"]}
    phone.upload(bout(phone.course, now, **filled))
    credited = {slot["start"]: slot["credited"] for slot in slots_of(phone) if slot["credited"]}
    assert credited == {ended["start"]: 10}
    assert db.session.scalars(select(Touch)).all() == []


def slots_of(phone: Phone) -> list[dict[str, Any]]:
    plan = phone.call("GET", "/phone/plan").json
    assert plan is not None
    slots: list[dict[str, Any]] = plan["courses"][0]["slots"]
    return slots


def test_a_ping_is_a_contact_and_says_which_plan_is_in_force(phone: Phone) -> None:
    body = {"outbox_left": 0, "plan_version": None, "push": "denied", "via": "page"}
    answer = phone.call("POST", "/phone/contacts", body)
    assert answer.json is not None
    plan = phone.call("GET", "/phone/plan")
    assert plan.json is not None
    assert answer.json["plan_version"] == plan.json["version"]
    assert db.session.scalars(select(Device.push_state)).all() == ["denied"]


def test_an_upload_names_what_it_stored_and_refuses_only_what_is_bad(phone: Phone) -> None:
    good = bout(phone.course, datetime.now(UTC))
    answer = phone.upload(good, good | {"id": "x"}, {"type": "thought", "id": "y"})
    assert answer.status_code == 200
    assert answer.json is not None
    assert [each["result"] for each in answer.json["results"]] == ["stored", "refused", "refused"]
    assert answer.json["results"][0]["id"] == good["id"]
    assert len(db.session.scalars(select(BoutRow)).all()) == 1


def test_more_than_a_hundred_items_or_none_are_refused_whole(phone: Phone) -> None:
    assert phone.upload().status_code == 422
    assert phone.upload(*[{}] * 101).status_code == 422


def test_trouble_stops_the_course_in_the_next_plan(phone: Phone) -> None:
    phone.upload(trouble(phone.course, datetime.now(UTC)))
    plan = phone.call("GET", "/phone/plan").json
    assert plan is not None
    assert plan["courses"][0]["stop"] is not None


def closed(days_ago: float) -> None:
    course = db.session.scalars(select(Device)).one()
    at = datetime.now(UTC) - timedelta(days=days_ago)
    db.session.add(
        CourseEvent(
            clinic_id=course.clinic_id, at=at, course_id=of_device(course), kind="closed",
            figures={"reason": "completed"},
        )
    )  # fmt: skip
    db.session.commit()
    db.session.remove()


def of_device(device: Device) -> Any:
    return courses_of(db.session(), device.patient_id)[0].id


def test_after_the_last_course_closed_a_phone_may_send_what_was_before_and_read_whom_to_ring(
    phone: Phone,
) -> None:
    closed(0.5)
    before = bout(phone.course, datetime.now(UTC) - timedelta(days=0.7))
    answer = phone.upload(before, bout(phone.course, datetime.now(UTC)))
    assert answer.json is not None
    assert [each["result"] for each in answer.json["results"]] == ["stored", "refused"]
    plan = phone.call("GET", "/phone/plan").json
    assert plan is not None
    assert plan["closed"]["ring"]
    keys = {"endpoint": "https://push.example/x", "keys": {"p256dh": "a", "auth": "b"}}
    assert phone.call("POST", "/phone/subscriptions", keys).status_code == 403


def test_fourteen_days_after_the_last_closing_the_phone_is_no_longer_let_in(phone: Phone) -> None:
    closed(14.1)
    answer = phone.call("GET", "/phone/plan")
    assert (answer.status_code, code(answer)) == (401, "device_revoked")


def test_a_clinic_may_let_it_in_for_longer_or_shorter(phone: Phone) -> None:
    closed(14.1)
    where = db.session.scalars(select(Course.clinic_id)).one()
    for days, status in ((30, 200), (7, 401)):
        now = datetime.now(UTC)
        db.session.add(
            ClinicSetting(
                at=now, clinic_id=where, key="device_after_closing_days", value={"is": days},
                valid_from=now,
            )
        )  # fmt: skip
        db.session.commit()
        db.session.remove()
        assert phone.call("GET", "/phone/plan").status_code == status


def test_unpairing_drops_the_cookie_and_ends_the_phone(phone: Phone) -> None:
    answer = phone.call("DELETE", "/phone/device")
    assert answer.status_code == 204
    assert "homeprog_phone=;" in answer.headers["Set-Cookie"]
    assert db.session.scalars(select(Device.ended_how)).all() == ["unpaired"]


def test_pairing_again_for_the_same_patient_replaces_the_phone(phone: Phone) -> None:
    device = db.session.scalars(select(Device)).one()
    who = db.session.scalars(select(Staff)).one()
    now = datetime.now(UTC)
    made = create_pairing(db.session(), cast.acting(who), device.patient_id, now, now)
    db.session.commit()
    db.session.remove()
    assert phone.call("POST", "/pairings/claims", {"secret": made.secret}).status_code == 201
    assert set(db.session.scalars(select(Device.ended_how))) == {None, "replaced"}
