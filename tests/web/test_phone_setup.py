"""Setting a phone up: handing over, a test reminder, a calendar; and what staff read of it."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select

from homeprog.extensions import db
from homeprog.storage.models import Course, Device, PromptSend, Staff
from tests.services.prompt_cast import revise, subscription
from tests.upload_cast import bout
from tests.web.staff_client import settled, signed_in
from tests.web.test_phone_api import NOW, Phone, code, invited


@pytest.fixture
def phone(app: Flask) -> Phone:
    """A patient's phone, linked by the link, of a plan with hourly exercises."""
    course, secret, _ = invited()
    revise(db.session, course, db.session.scalars(select(Staff)).one(), NOW, "bend")
    db.session.commit()
    made = Phone(app.test_client())
    assert linked(made, secret=secret) == 201
    return made


def linked(phone: Phone, **proof: str) -> int:
    answer = phone.call("POST", "/pairings/claims", proof | {"whose": "patient"})
    if answer.status_code == 201:
        assert answer.json is not None
        phone.csrf, phone.device = answer.json["csrf"], answer.json["device"]
    return answer.status_code


def told(phone: Phone, method: str, path: str) -> dict[str, Any]:
    answer = phone.call(method, path)
    assert answer.status_code in (200, 201), answer.json
    assert isinstance(answer.json, dict)
    return answer.json


def meets(phone: Phone, reminding: str) -> dict[str, Any]:
    body = {"outbox_left": 0, "plan_version": None, "via": "page", "reminding": reminding}
    answer = phone.call("POST", "/phone/contacts", body)
    assert answer.json is not None
    return dict(answer.json)


def test_the_app_takes_the_tabs_place_with_its_first_plan_and_not_before(
    phone: Phone, app: Flask
) -> None:
    handed = told(phone, "POST", "/phone/hand-overs")
    assert handed["minutes"] == 10
    installed = Phone(app.test_client())
    assert linked(installed, code=handed["code"]) == 201
    assert phone.call("GET", "/phone/plan").status_code == 200
    assert installed.call("GET", "/phone/plan").status_code == 200
    gone = phone.call("GET", "/phone/plan")
    assert (gone.status_code, code(gone)) == (401, "device_replaced")
    assert installed.call("GET", "/phone/plan").status_code == 200


def test_what_was_entered_in_the_tab_meanwhile_still_arrives_but_not_from_a_phone_taken_away(
    phone: Phone, app: Flask
) -> None:
    course = str(db.session.scalars(select(Course)).one().id)
    db.session.remove()
    handed = told(phone, "POST", "/phone/hand-overs")["code"]
    installed = Phone(app.test_client())
    linked(installed, code=handed)
    installed.call("GET", "/phone/plan")
    sent = phone.upload(bout(course, NOW))
    assert sent.json is not None
    assert [each["result"] for each in sent.json["results"]] == ["stored"]
    body = {"outbox_left": 0, "plan_version": None, "via": "page"}
    assert phone.call("POST", "/phone/contacts", body).status_code == 401
    tab = db.session.scalars(select(Device).where(Device.ended_how == "replaced")).one()
    tab.ended_how = "revoked"
    db.session.commit()
    db.session.remove()
    assert phone.upload(bout(course, NOW)).status_code == 401


def test_a_code_whose_answer_was_lost_leaves_the_tab_linked_and_it_makes_another(
    phone: Phone, app: Flask
) -> None:
    first = told(phone, "POST", "/phone/hand-overs")["code"]
    assert linked(Phone(app.test_client()), code=first) == 201  # and never heard of again
    again = Phone(app.test_client())
    assert linked(again, code=first) == 410
    assert linked(again, code=told(phone, "POST", "/phone/hand-overs")["code"]) == 201


def test_a_phone_that_is_not_linked_hands_nothing_over(app: Flask) -> None:
    answer = Phone(app.test_client()).call("POST", "/phone/hand-overs")
    assert (answer.status_code, code(answer)) == (401, "not_paired")


def test_the_clinics_code_without_a_number_is_not_known(app: Flask) -> None:
    _, _, typed = invited()
    assert linked(Phone(app.test_client()), code=typed) == 404


def test_a_test_reminder_needs_reminders_and_then_waits_to_be_sent(phone: Phone) -> None:
    refused = phone.call("POST", "/phone/test-reminders")
    assert (refused.status_code, code(refused)) == (409, "no_subscription")
    device = db.session.scalars(select(Device)).one()
    subscription(db.session, device, "https://fcm.googleapis.com/fcm/send/one")
    db.session.commit()
    sent = told(phone, "POST", "/phone/test-reminders")
    assert sent["state"] == "waiting"
    assert told(phone, "GET", f"/phone/test-reminders?send={sent['send']}")["state"] == "waiting"
    body = {"send": sent["send"], "what": "shown", "at": NOW.isoformat(), "outbox_left": 0}
    assert phone.call("POST", "/phone/receipts", body).status_code == 204
    assert told(phone, "GET", f"/phone/test-reminders?send={sent['send']}")["state"] == "arrived"
    assert len(db.session.scalars(select(PromptSend)).all()) == 1


def test_the_calendar_comes_with_its_last_day_and_a_mark_that_contacts_repeat(
    phone: Phone,
) -> None:
    made = told(phone, "GET", "/phone/calendar")
    assert made["file"].startswith("BEGIN:VCALENDAR\r\n")
    assert meets(phone, "calendar")["calendar"] == made["mark"]
    assert meets(phone, "push")["calendar"] is None


def test_without_a_plan_there_is_no_calendar(app: Flask) -> None:
    _, secret, _ = invited()
    bare = Phone(app.test_client())
    linked(bare, secret=secret)
    refused = bare.call("GET", "/phone/calendar")
    assert (refused.status_code, code(refused)) == (409, "nothing_planned")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (None, "not known yet"),
        ("push", "by push; no test reminder has come back"),
        ("calendar", "by a calendar file, which cannot know what was logged"),
        ("in_app", "only while the app is open"),
        ("none", "not at all"),
    ],
)
def test_staff_read_on_the_patients_page_how_the_phone_reminds(
    phone: Phone, app: Flask, said: str | None, words: str
) -> None:
    if said:
        meets(phone, said)
    course = db.session.scalars(select(Course)).one()
    staff = signed_in(app, settled(db.session.scalars(select(Staff)).one()))
    page = staff.get(f"/patients/{course.patient_id}").text
    assert f"<td>{words}</td>" in page


def test_a_way_of_reminding_that_nobody_knows_is_refused(phone: Phone) -> None:
    body = {"outbox_left": 0, "plan_version": None, "via": "page", "reminding": "pigeon"}
    assert phone.call("POST", "/phone/contacts", body).status_code in (400, 422)


def test_staff_show_a_code_with_one_tap_on_the_patients_page(phone: Phone, app: Flask) -> None:
    patient = db.session.scalars(select(Course)).one().patient_id
    staff = signed_in(app, settled(db.session.scalars(select(Staff)).one()))
    page = staff.get(f"/patients/{patient}").text
    assert f'<form method="post" action="/patients/{patient}/pairing">' in page
    assert "/phone/#pair=" in staff.post(f"/patients/{patient}/pairing").text
