"""The regime half by its pages: adopt, approve, set, release, hold, resume, next visit."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select
from sqlalchemy.orm import Session
from werkzeug.datastructures import MultiDict

from homeprog.clock import clock
from homeprog.extensions import db
from homeprog.services.actor import Actor
from homeprog.services.confirm_course import confirm_course
from homeprog.services.phone_plan import phone_plan
from homeprog.services.release_phase import Signed, release_phase
from homeprog.storage.base import Row
from homeprog.storage.models import Course, HoldRow, Release, Revision, Staff, Template
from homeprog.web.regime_form import edited, every_field, parts_of, typed
from tests import cast
from tests.regime_cast import on_regime
from tests.web.staff_cast import Browser

KEY = "static-then-dynamic"


@dataclass(frozen=True)
class Desk:
    """Two clinicians signed in, an outsider, and a course without a regime."""

    anna: FlaskClient
    bea: FlaskClient
    outsider: FlaskClient
    actor: Actor  # Anna
    course: uuid.UUID


@pytest.fixture
def desk(app: Flask) -> Desk:
    now = clock().now() - timedelta(hours=1)
    here, there = cast.clinic(db.session(), now), cast.clinic(db.session(), now, "Hill Hand Unit")
    anna = cast.staff(db.session(), here, now)
    bea = cast.staff(db.session(), here, now, "therapist", "surgeon", "Bea Holm")
    otto = cast.staff(db.session(), there, now, name="Otto Other")
    course, actor = cast.enrolled(db.session(), anna, now).id, cast.acting(anna)
    db.session.commit()
    names = [who.sign_in for who in (anna, bea, otto)]
    db.session.remove()  # requests open their own
    clients = [enter(app, name) for name in names]
    return Desk(*clients, actor, course)


def enter(app: Flask, sign_in: str) -> FlaskClient:
    app.config["WTF_CSRF_ENABLED"] = False
    client = Browser(app)
    client.post("/sign-in", data={"name": sign_in, "password": cast.PASSWORD})
    return client


def stored(row: type[Row]) -> list[Any]:
    """The rows of a table, read apart from the session of the requests."""
    db.session.remove()
    with Session(db.engine) as apart:
        found = list(apart.scalars(select(row)))
        apart.expunge_all()
    return found


def adopted(desk: Desk) -> Template:
    assert desk.anna.post(f"/templates/{KEY}/adoption").status_code == 303
    return stored(Template)[0]


def approved(desk: Desk) -> Template:
    row = adopted(desk)
    answer = desk.bea.post(f"/templates/{row.id}/approval")
    assert answer.status_code == 303, answer.text
    return stored(Template)[0]


def confirm(desk: Desk) -> None:
    confirm_course(db.session(), desk.actor, desk.course, "letter", "1 June", clock().now())
    db.session.commit()
    db.session.remove()


def plan_of(desk: Desk) -> dict:
    """The course as a phone paired now gets it."""
    now = clock().now()
    device = cast.phone(db.session(), db.session.get_one(Course, desk.course), now)
    return phone_plan(db.session(), device, now)["courses"][0]


def as_form(body: dict, template: Template, **more: str) -> MultiDict:
    """What a browser sends for a regime form left as it was, but for `more`."""
    form: MultiDict = MultiDict({"template_id": str(template.id), "structure": json.dumps(body)})
    for name, value in typed(body).items():
        if isinstance(value, bool):
            if value:
                form.add(name, "yes")
        elif isinstance(value, list | tuple):
            for each in value:
                form.add(name, each)
        else:
            form.add(name, str(value))
    for name, value in more.items():
        form[name] = value
    return form


def save(desk: Desk, template: Template, **more: str):
    form = as_form(template.body, template, **{"reason": "as the template", **more})
    return desk.anna.post(f"/courses/{desk.course}/regime", data=form)


def test_adopted_by_one_and_approved_by_another_a_template_may_be_prescribed(desk: Desk) -> None:
    assert "waits for adoption" in desk.anna.get("/templates").text
    assert "Adopt" in desk.anna.get(f"/templates/{KEY}").text
    row = adopted(desk)
    own = desk.anna.post(f"/templates/{row.id}/approval")
    assert own.status_code == 403
    assert save(desk, row).status_code == 422
    assert desk.bea.post(f"/templates/{row.id}/approval").status_code == 303
    page = desk.anna.get(f"/templates/{row.id}").text
    assert "Approved by Bea Holm" in page
    assert save(desk, row).status_code == 303


def test_from_a_template_to_slots_on_the_phone(desk: Desk) -> None:
    template = approved(desk)
    page = desk.anna.get(f"/courses/{desk.course}/regime?template={template.id}")
    assert 'name="phases.2.exercises.0.dose.amount"' in page.text
    amount = {"phases.2.exercises.0.dose.amount": "8"}
    answer = save(desk, template, **amount)
    assert answer.status_code == 303, answer.text
    revision = stored(Revision)[0]
    assert revision.body["phases"][2]["exercises"][0]["dose"]["amount"] == 8
    confirm(desk)
    told = {"phase": "dynamic", "splint_fitted": "yes", "hand_examined": "yes"}
    answer = desk.anna.post(f"/courses/{desk.course}/releases", data=told)
    assert answer.status_code == 303, answer.text
    plan = plan_of(desk)
    assert plan["phase"]["key"] == "dynamic"
    assert {s["amount"] for s in plan["slots"] if s["exercise"] == "bend_to_stop"} == {8}


def test_what_was_typed_is_kept_and_the_message_stands_at_its_field(desk: Desk) -> None:
    template = approved(desk)
    wrong = {"phases.2.exercises.0.dose.amount": "ten", "reason": "told by the surgeon"}
    answer = save(desk, template, **wrong)
    assert answer.status_code == 422
    assert 'value="ten"' in answer.text
    assert "told by the surgeon" in answer.text
    assert 'id="e-phases-2-exercises-0-dose-amount"' in answer.text
    assert not stored(Revision)


def test_what_needs_a_surgeons_reason_asks_for_it_and_takes_it(desk: Desk) -> None:
    template = approved(desk)
    wide = {"phases.2.flexion_limits.middle": "45"}
    answer = save(desk, template, **wide)
    assert answer.status_code == 422
    assert 'name="reason.flexion_stop_wide.surgeon"' in answer.text
    given = {
        "reason.flexion_stop_wide.text": "strong repair",
        "reason.flexion_stop_wide.surgeon": "Mr Oyelaran",
        "reason.flexion_stop_wide.how": "letter",
        "reason.flexion_stop_wide.given_on": "2026-06-01",
    }
    answer = save(desk, template, **wide, **given)
    assert answer.status_code == 303, answer.text
    revision = stored(Revision)[0]
    assert revision.surgeon_reasons[0]["given_on"] == "2026-06-01"


def test_an_exercise_that_is_left_out_is_not_in_the_revision(desk: Desk) -> None:
    template = approved(desk)
    answer = save(desk, template, **{"phases.2.exercises.1.leave_out": "yes"})
    assert answer.status_code == 303, answer.text
    revision = stored(Revision)[0]
    assert [e["key"] for e in revision.body["phases"][2]["exercises"]] == ["bend_to_stop"]


def test_a_form_left_as_it_was_gives_back_every_shipped_regime(desk: Desk) -> None:
    template = adopted(desk)
    assert edited(template.body, as_form(template.body, template)) == template.body
    assert len({each.name for each in every_field(parts_of(template.body))}) > 100


def test_a_release_without_an_examined_hand_is_refused_at_its_field(desk: Desk) -> None:
    template = approved(desk)
    save(desk, template)
    confirm(desk)
    told = {"phase": "dynamic", "splint_fitted": "yes"}
    answer = desk.anna.post(f"/courses/{desk.course}/releases", data=told)
    assert answer.status_code == 422
    assert "Examine the hand first." in answer.text
    assert not stored(Release)


def test_a_hold_is_set_and_resumed_with_a_reason(desk: Desk) -> None:
    told = {"kind": "stop_flag", "reason": "fell on the stairs"}
    assert desk.anna.post(f"/courses/{desk.course}/holds", data=told).status_code == 303
    hold = stored(HoldRow)[0]
    assert "fell on the stairs" in desk.anna.get(f"/courses/{desk.course}/holds").text
    assert desk.anna.post(f"/holds/{hold.id}/end", data={"reason": ""}).status_code == 422
    assert desk.anna.post(f"/holds/{hold.id}/end", data={"reason": "intact"}).status_code == 303


def test_the_next_visit_keeps_what_was_typed_when_its_day_has_gone(desk: Desk) -> None:
    answer = desk.anna.post(f"/courses/{desk.course}/visit", data={"planned": "2020-01-02"})
    assert answer.status_code == 422
    assert 'value="2020-01-02"' in answer.text
    db.session.remove()
    ahead = (clock().now() + timedelta(days=5)).date().isoformat()
    told = {"planned": ahead, "planned_time": "10:30"}
    assert desk.anna.post(f"/courses/{desk.course}/visit", data=told).status_code == 303


@pytest.mark.parametrize("page", ["regime", "releases", "holds", "visit"])
def test_another_clinics_course_is_not_there(desk: Desk, page: str) -> None:
    path = f"/courses/{desk.course}/{page}"
    assert desk.outsider.get(path).status_code == 404
    assert desk.outsider.post(path, data={"structure": "{}"}).status_code == 404
    assert desk.anna.get(path).status_code == 200


def test_another_clinics_template_is_not_there(desk: Desk) -> None:
    row = adopted(desk)
    assert desk.outsider.get(f"/templates/{row.id}").status_code == 404
    assert desk.outsider.post(f"/templates/{row.id}/approval").status_code == 404
    assert "waits for adoption" in desk.outsider.get("/templates").text


@pytest.mark.parametrize("structure", ["", "{}", "[]", '{"phases": [1]}', '{"phases": [{}]}'])
def test_a_form_that_is_not_ours_is_refused(desk: Desk, structure: str) -> None:
    answer = desk.anna.post(f"/courses/{desk.course}/regime", data={"structure": structure})
    assert answer.status_code == 422


def test_a_release_signed_ahead_is_begun_on_its_day_by_telephone(desk: Desk) -> None:
    begun = clock().now() - timedelta(days=4)
    made = on_regime(db.session(), begun, operated_days_ago=25)
    made_by = db.session().get_one(Staff, made.therapist.id)
    made_by.must_change = False
    made_by.password_hash = cast.staff(db.session(), made.clinic, begun).password_hash
    yesterday = (clock().now() - timedelta(days=1)).date()
    signed = Signed("dynamic_wide", True, True, not_before=yesterday)
    row = release_phase(db.session(), made.therapist, made.course.id, signed, begun)
    name, course, key = made_by.sign_in, made.course.id, row.id
    db.session.commit()
    db.session.remove()
    ring = enter(desk.anna.application, name)
    button = "Asked by telephone: nothing wrong. Begin this stage"
    assert button in ring.get(f"/courses/{course}").text
    assert ring.post(f"/releases/{key}/beginning").status_code == 303
    db.session.remove()
    assert db.session().get_one(Release, key).starts is not None
    db.session.remove()
    assert button not in ring.get(f"/courses/{course}").text
    again = ring.post(f"/releases/{key}/beginning")
    assert again.status_code == 409
    assert "This release has begun, or has lapsed." in again.text
