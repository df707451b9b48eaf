"""Another clinic's rows, and another patient's, are answered like rows that are not there."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta

import pytest

from homeprog.extensions import db as extension
from homeprog.services.hold_course import hold_course
from homeprog.services.open_alert import open_alert
from homeprog.services.pair_phone import hashed
from homeprog.services.plan_visit import plan_visit
from homeprog.storage.models import Prompt, PromptSend
from tests import cast
from tests.regime_cast import on_regime
from tests.upload_cast import bout, trouble
from tests.web.staff_cast import Browser, browser, now

ROLES = ("enroller", "therapist", "manager")
NO_IDS = {"filename", "language"}  # parts of a path that name a file, not a row
FORM = {  # a form that asks for something, so that the answer is about the row
    "reason": "because", "done": "rang", "words": "rang", "kind": "pause", "planned": "2030-01-01",
    "phase": "static", "step": "approved",
}  # fmt: skip


@pytest.fixture
def theirs(app):
    """A course of one clinic with a row of every kind that a path can name."""
    return on_regime(extension.session(), now() - timedelta(days=2))


@pytest.fixture
def ids(theirs):
    """Name of a path's part -> the id of their row."""
    db, course = extension.session(), theirs.course
    device = cast.phone(db, course, now())
    hold = hold_course(db, theirs.therapist, course.id, "hospital", "a fall", now())
    figures = {"trouble": "snap", "stop": True, "entered_at": now().isoformat()}
    row = open_alert(db, course, "trouble", "now", figures, now())
    visit = plan_visit(db, theirs.therapist, course.id, now().date() + timedelta(days=5), now())
    db.commit()
    return {
        "course_id": course.id, "patient_id": course.patient_id, "alert_id": row.id,
        "hold_id": hold.id, "release_id": theirs.release.id, "device_id": device.id,
        "template_id": theirs.template.id, "staff_id": theirs.therapist.id,
        "visit_id": visit.id,
    }  # fmt: skip


@pytest.fixture
def elsewhere(app):
    """Another clinic."""
    return cast.clinic(extension.session(), now() - timedelta(days=3), "Hill Hand Unit")


def clinician(where, role="therapist"):
    """Somebody who works there."""
    return cast.staff(extension.session(), where, now() - timedelta(days=3), role=role)


@pytest.fixture
def outsider(elsewhere):
    return clinician(elsewhere)


def routes(app):
    """(rule, method, names of the ids in its path) of every route that names a row."""
    for rule in sorted(app.url_map.iter_rules(), key=str):
        names = rule.arguments - NO_IDS
        for method in sorted(rule.methods - {"HEAD", "OPTIONS"}) if names else ():
            yield rule, method, names


def answer(client, rule, method, values):
    """Status, body and where it leads, with the ids asked for and the CSRF word taken out."""
    path = str(rule)
    for name, value in values.items():
        path = re.sub(rf"<[^<>]*{name}>", str(value), path)
    given = {"json": FORM} if path.startswith("/api/") else {"data": FORM}
    found = client.open(path, method=method, **(given if method == "POST" else {}))
    text = re.sub(r'name="csrf_token" value="[^"]*"', "", found.text)
    for value in values.values():
        text = text.replace(str(value), "ID")
    leads = found.headers.get("Location", "")
    for value in values.values():
        leads = leads.replace(str(value), "ID")
    return found.status_code, leads, text


def test_every_id_a_path_can_name_is_known_to_this_test(app, ids):
    named = {name for _, _, names in routes(app) for name in names}
    assert named == set(ids)


def test_staff_of_another_clinic_get_the_answer_of_an_id_that_does_not_exist(app, ids, elsewhere):
    """Whatever their role; what a role may not do is refused whoever's row it is."""
    clients = [browser(app, clinician(elsewhere, role)) for role in ROLES]
    walked = 0
    for rule, method, names in routes(app):
        statuses = set()
        for client in clients:
            there = answer(client, rule, method, {name: ids[name] for name in names})
            nowhere = answer(client, rule, method, {name: uuid.uuid4() for name in names})
            assert there == nowhere, (rule, method)
            statuses.add(there[0])
        assert statuses <= {403, 404, 422}, (rule, method, statuses)
        assert method != "GET" or 404 in statuses, rule
        walked += 1
    assert walked > 25  # 34 when this was written


def test_their_own_staff_are_not_answered_so(app, theirs, ids):
    """The walk above would pass if every path answered 404 to everybody."""
    clients = [browser(app, clinician(theirs.clinic, role)) for role in ("therapist", "manager")]
    for rule, method, names in routes(app):
        if method == "GET":
            told = {name: ids[name] for name in names}
            found = [answer(client, rule, method, told) for client in clients]
            assert 200 in [each[0] for each in found], (rule, found)


def test_strangers_are_sent_to_sign_in_whether_the_row_is_there_or_not(app, ids):
    app.config["WTF_CSRF_ENABLED"] = False
    client = Browser(app)
    for rule, method, names in routes(app):
        there = answer(client, rule, method, {name: ids[name] for name in names})
        nowhere = answer(client, rule, method, {name: uuid.uuid4() for name in names})
        assert there == nowhere, (rule, method)
        assert there[0] in (303, 401), (rule, method, there[0])


def test_a_template_of_another_clinic_starts_no_regime(app, ids, outsider):
    db = extension.session()
    mine = cast.confirmed(db, outsider, now() - timedelta(days=1))
    path = f"/courses/{mine.id}/regime?template="
    client = browser(app, outsider)
    there = client.get(path + str(ids["template_id"]))
    nowhere = client.get(path + str(uuid.uuid4()))
    assert there.status_code == nowhere.status_code == 404
    assert there.text == nowhere.text


# ---- a phone of another patient


@pytest.fixture
def phone(app, outsider):
    """A client with the cookie of a phone of a patient of the other clinic, and its course."""
    db = extension.session()
    mine = cast.confirmed(db, outsider, now() - timedelta(days=1), number="SH 9")
    device = cast.phone(db, mine, now() - timedelta(hours=2))
    token = "t" * 43
    device.token_hash = hashed(token)
    db.commit()
    client = Browser(app)
    client.set_cookie("homeprog_phone", token)
    return client


def csrf(client):
    told = client.get("/api/v1/phone/plan")
    assert told.status_code == 200, told.text
    return {"X-CSRF-Token": told.json["csrf"]}


def test_a_phones_items_for_another_patients_course_are_refused_like_ones_for_no_course(
    app, ids, phone
):
    headers = csrf(phone)

    def sent(course):
        items = [bout(course, now()), trouble(course, now())]
        body = {"outbox_left_after": 0, "plan_version": None, "items": items}
        results = phone.post("/api/v1/phone/uploads", json=body, headers=headers).json["results"]
        assert len(results) == 2
        return [{k: v for k, v in each.items() if k != "id"} for each in results]

    there, nowhere = sent(str(ids["course_id"])), sent(str(uuid.uuid4()))
    assert there == nowhere
    assert {each["result"] for each in there} == {"refused"}


def test_a_phone_cannot_tell_of_another_patients_reminder(app, theirs, ids, phone):
    db = extension.session()
    prompt = Prompt(
        clinic_id=theirs.clinic.id, at=now(), patient_id=theirs.patient.id, due_at=now(),
        ends_at=now() + timedelta(hours=1),
    )  # fmt: skip
    db.add(prompt)
    db.flush()
    send = PromptSend(
        clinic_id=theirs.clinic.id, at=now(), prompt_id=prompt.id, device_id=ids["device_id"],
        due_at=now(),
    )  # fmt: skip
    db.add(send)
    db.commit()
    headers = csrf(phone)

    def told(key):
        body = {"send": str(key), "what": "shown", "at": now().isoformat(), "outbox_left": 0}
        found = phone.post("/api/v1/phone/receipts", json=body, headers=headers)
        return found.status_code, found.json["error"]

    assert told(send.id) == told(uuid.uuid4())


def test_a_phones_plan_names_nothing_of_another_patient(app, theirs, ids, phone):
    text = phone.get("/api/v1/phone/plan").text
    for key in (ids["course_id"], ids["patient_id"], theirs.clinic.id):
        assert str(key) not in text
