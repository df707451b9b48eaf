"""The manager's pages, where staff say how they are told, and what pages say of who is woken."""

from __future__ import annotations

import re
import uuid
from dataclasses import replace
from datetime import time, timedelta

import pytest
from sqlalchemy import select

from homeprog.config import ROOT
from homeprog.delivery.push_keys import make_once
from homeprog.domain.alert import KINDS, TROUBLE
from homeprog.extensions import db as extension
from homeprog.services.open_alert import open_alert
from homeprog.services.settle_alert import settle_alert
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.alert_settings import level_of, settings_of, whole_clinic
from homeprog.storage.models import Audit, Duty, Notice, NoticeTry, Staff, StaffSubscription
from tests import cast
from tests.delivery.receiver import base64url, ec, point
from tests.web.staff_cast import browser, now

BEFORE = timedelta(days=10)
NO_ONE = "No one is woken by this system."


@pytest.fixture
def clinic(app):
    return cast.clinic(extension.session(), now() - BEFORE)


@pytest.fixture
def anna(clinic):
    return cast.staff(extension.session(), clinic, now() - BEFORE)


@pytest.fixture
def mona(clinic):
    return cast.staff(extension.session(), clinic, now() - BEFORE, "manager", None, "Mona Lind")


def soon():
    """After whatever a page has just saved: `now` cuts the second short."""
    return now() + timedelta(seconds=2)


def with_mail(app):
    """The house sends e-mail from now on."""
    app.config["HOMEPROG"] = replace(
        app.config["HOMEPROG"], smtp_host="127.0.0.1", smtp_from="h@unit.example"
    )


def always_on_duty(who):
    for weekday in range(7):
        extension.session.add(
            Duty(
                clinic_id=who.clinic_id, at=now() - BEFORE, set_id=who.clinic_id, weekday=weekday,
                opens=time(0), closes=time(0), staff_id=who.id,
            )
        )  # fmt: skip
    extension.session.commit()


# ---- who is woken


def test_it_is_said_exactly_while_no_channel_reaches_anybody_on_duty(app, anna):
    client = browser(app, anna)
    pages = ("/caseload", "/clinic", "/staff/devices")

    def said():
        found = {NO_ONE in client.get(path).text for path in pages}
        assert len(found) == 1
        return found.pop()

    assert said()
    always_on_duty(anna)
    assert said()
    anna.email = "anna@unit.example"
    extension.session.commit()
    assert said()  # an address without a mail server
    with_mail(app)
    assert not said()
    assert "Anna Berg (e-mail)" in client.get("/caseload").text
    row = Notice(
        clinic_id=anna.clinic_id, at=now(), staff_id=anna.id, channel="email", why="test",
        key="a test", state="due", due_at=now(), alerts=[],
    )  # fmt: skip
    extension.session.add(row)
    extension.session.flush()
    tried = {"clinic_id": anna.clinic_id, "notice_id": row.id, "channel": "email"}
    failed = NoticeTry(
        **tried, at=now() - timedelta(minutes=5), what="failed", detail="connection refused"
    )
    extension.session.add(failed)
    extension.session.commit()
    assert said()
    text = client.get("/caseload").text
    assert "E-mail to staff has failed since" in text
    assert "connection refused" in text
    extension.session.add(NoticeTry(**tried, at=now() - timedelta(minutes=1), what="sent"))
    extension.session.commit()
    assert not said()


def test_the_alerts_page_says_who_was_told_by_what_and_what_became_of_it(app, anna, mona):
    anna.email = "anna@unit.example"
    course = cast.confirmed(extension.session(), anna, now() - BEFORE)
    row = open_alert(extension.session(), course, "silence", "now", {}, now(), clock_starts=now())
    given = {"clinic_id": anna.clinic_id, "alert_id": row.id, "why": "first", "due_at": now()}
    for key, who, way, state, outcome in (
        ("1", anna, "email", "sent", "sent"),
        ("2", mona, "none", "failed", "no channel reaches this person"),
    ):
        extension.session.add(
            Notice(
                **given, at=now(), staff_id=who.id, channel=way, state=state, outcome=outcome,
                key=key, alerts=[],
            )
        )  # fmt: skip
    extension.session.commit()
    text = " ".join(browser(app, mona).get(f"/alerts/{row.id}").text.split())
    assert "Anna Berg, by e-mail." in text
    assert "Mona Lind: no channel reaches this person." in text


def test_a_channel_of_another_clinic_that_fails_is_not_shown_here(app, anna):
    there = cast.staff(
        extension.session(), cast.clinic(extension.session(), now(), "Hill Hand Unit"), now()
    )
    row = Notice(
        clinic_id=there.clinic_id, at=now(), staff_id=there.id, channel="email", why="test",
        key="a test", state="due", due_at=now(), alerts=[],
    )  # fmt: skip
    extension.session.add(row)
    extension.session.flush()
    extension.session.add(
        NoticeTry(
            clinic_id=there.clinic_id, notice_id=row.id, channel="email", what="failed", at=now()
        )
    )
    assert "has failed" not in browser(app, anna).get("/caseload").text


# ---- alert settings


def test_only_a_manager_sees_and_sets_alert_settings(app, anna):
    client = browser(app, anna)
    assert client.get("/alert-settings").status_code == 403
    assert client.get("/manager").status_code == 403
    for path in ("/alert-settings", "/alert-settings/clinic"):
        assert client.post(path, data={"kind": "silence"}).status_code == 403


def test_a_manager_sets_a_kind_without_script_and_the_row_before_is_kept(app, mona, anna):
    client = browser(app, mona)
    assert 'name="quiet_from"' in client.get("/alert-settings?kind=silence").text
    given = {
        "kind": "silence", "on": "yes", "level": "now", "therapist_first": "yes",
        "people": [str(anna.id), "", ""], "quiet_from": "12:00", "quiet_to": "13:00",
    }  # fmt: skip
    assert client.post("/alert-settings", data=given).status_code == 303
    setting = settings_of(extension.session(), mona.clinic_id, soon())["silence"]
    assert (setting.on, setting.level, setting.people) == (True, "now", (str(anna.id),))
    assert setting.quiet == (time(12), time(13))
    client.post("/alert-settings", data=given | {"on": ""})
    assert level_of(extension.session(), mona.clinic_id, "silence", soon()) is None
    acts = extension.session.scalars(select(Audit).where(Audit.thing == "alert_setting")).all()
    assert len(acts) == 2


@pytest.mark.parametrize("kind", sorted(TROUBLE))
def test_trouble_cannot_be_set_by_any_form(app, mona, kind):
    client = browser(app, mona)
    answer = client.post("/alert-settings", data={"kind": kind, "level": "this_week"})
    assert answer.status_code == 422
    assert "Trouble is always told" in answer.text
    assert level_of(extension.session(), mona.clinic_id, kind, soon()) == "now"


def test_what_is_wrong_is_said_and_what_was_typed_is_kept(app, mona):
    client = browser(app, mona)
    bad = {"kind": "silence", "level": "today", "quiet_from": "25:00", "quiet_to": "13:00"}
    answer = client.post("/alert-settings", data=bad | {"people": [str(uuid.uuid4())]})
    assert answer.status_code == 422
    assert "A time such as 12:00" in answer.text
    assert "Choose people who work here." in answer.text
    assert 'value="13:00"' in answer.text
    answer = client.post("/alert-settings/clinic", data={"now_minutes": "1", "digest_at": "x"})
    assert "A whole number from 5 to 120." in answer.text
    assert whole_clinic(extension.session(), mona.clinic_id, soon()).now_minutes == 15


def test_the_clinics_list_times_and_digest_are_set_in_one_form(app, mona, anna):
    client = browser(app, mona)
    given = {
        "people": [str(mona.id), str(anna.id)], "now_minutes": "10", "today_hours": "2",
        "digest_at": "07:15", "webhook_wakes": "yes",
    }  # fmt: skip
    assert client.post("/alert-settings/clinic", data=given).status_code == 303
    whole = whole_clinic(extension.session(), mona.clinic_id, soon())
    assert (whole.people, whole.now_minutes) == ((str(mona.id), str(anna.id)), 10)
    assert (whole.today_hours, whole.digest_at, whole.webhook_wakes) == (2, time(7, 15), True)


def test_staff_of_another_clinic_cannot_be_put_on_the_list(app, mona):
    there = cast.staff(
        extension.session(), cast.clinic(extension.session(), now(), "Hill Hand Unit"), now()
    )
    client = browser(app, mona)
    given = {"people": [str(there.id)], "now_minutes": "15", "today_hours": "4"}
    answer = client.post("/alert-settings/clinic", data=given | {"digest_at": "07:45"})
    assert answer.status_code == 422


def test_every_kind_has_its_line(app, mona):
    text = browser(app, mona).get("/alert-settings").text
    assert text.count('<th scope="row">') == len(KINDS)


# ---- where one is told


def address(host="https://fcm.googleapis.com/fcm/send/one"):
    keys = ec.generate_private_key(ec.SECP256R1())
    return {"endpoint": host, "p256dh": point(keys), "auth": base64url(b"a" * 16), "name": "Phone"}


def test_a_browser_is_added_tested_and_ended_by_its_owner(app, anna):
    make_once(app.config["HOMEPROG"].instance)
    client = browser(app, anna)
    assert client.post("/staff/devices", data=address()).status_code == 303
    assert "Phone, since" in client.get("/staff/devices").text
    client.post("/staff/test")
    sent = extension.session.scalars(select(Notice)).one()
    assert (sent.channel, sent.why, sent.state) == ("push", "test", "due")
    row = extension.session.scalars(select(StaffSubscription)).one()
    assert client.post("/staff/devices/ending", data={"device": row.id}).status_code == 303
    extension.session.refresh(row)
    assert row.dead_at is not None


def test_only_push_services_and_true_keys_are_taken(app, anna):
    client = browser(app, anna)
    for wrong in (address("https://push.example/x"), address() | {"auth": "short"}):
        assert client.post("/staff/devices", data=wrong).status_code == 422
    assert extension.session.scalars(select(StaffSubscription)).all() == []


def test_nobody_ends_the_browser_of_a_colleague(app, anna, mona):
    browser(app, anna).post("/staff/devices", data=address())
    row = extension.session.scalars(select(StaffSubscription)).one()
    there = browser(app, mona).post("/staff/devices/ending", data={"device": str(row.id)})
    nowhere = browser(app, mona).post("/staff/devices/ending", data={"device": str(uuid.uuid4())})
    assert (there.status_code, there.text) == (nowhere.status_code, nowhere.text)
    assert there.status_code == 404
    extension.session.refresh(row)
    assert row.dead_at is None


def test_a_browser_two_share_tells_the_one_who_asked_last(app, anna, mona):
    given = address()
    browser(app, anna).post("/staff/devices", data=given)
    browser(app, mona).post("/staff/devices", data=given)
    assert extension.session.scalars(select(StaffSubscription)).one().staff_id == mona.id


def test_an_address_is_saved_refused_and_emptied(app, anna):
    client = browser(app, anna)
    client.post("/staff/email", data={"email": " anna@unit.example "})
    assert extension.session.get(Staff, anna.id).email == "anna@unit.example"
    assert client.post("/staff/email", data={"email": "anna, ben"}).status_code == 422
    client.post("/staff/email", data={"email": ""})
    extension.session.expire_all()
    assert extension.session.get(Staff, anna.id).email is None


# ---- the manager's figures


def test_the_manager_reads_channels_times_false_alarms_and_phones_never_paired(app, anna, mona):
    db, early = extension.session(), now() - timedelta(days=3)
    course = cast.confirmed(db, anna, now() - BEFORE)
    figures = {"reached": 1, "known": 9}
    row = open_alert(db, course, "few_logged", "today", figures, early, clock_starts=early)
    take_up_alert(db, cast.acting(anna), row.id, early)
    settle_alert(db, cast.acting(anna), row.id, "rang", "", early, false_alarm=True)
    open_alert(db, course, "silence", "today", {}, early)
    db.commit()
    text = " ".join(browser(app, mona).get("/manager").text.split())
    assert "1 of 1 settled (100 %)" in text
    assert '<th scope="row">Today</th><td>1</td><td>0 min</td><td>1</td>' in text
    assert "2 alerts in" in text
    assert "Grace Obi" in text
    cast.phone(db, course, now())
    db.commit()
    assert "Grace Obi" not in browser(app, mona).get("/manager").text


def test_the_rule_stands_beside_its_settings_and_too_few_days_cannot_be_accepted(app, anna, mona):
    client = browser(app, mona)
    text = " ".join(client.get("/few-logged?slots=4").text.split())
    assert "at least 200 patient-days are needed" in text
    run = re.search(r'<th scope="row">85 %</th><td>(\d+)</td><td>-</td>', text)
    assert 150 <= int(run[1]) <= 200  # asked for: at most one false alarm in 150
    assert client.post("/few-logged/acceptance").status_code == 303
    assert "There are too few days yet to tell." in client.get("/few-logged").text
    assert browser(app, anna).get("/few-logged").status_code == 403


def test_the_staff_worker_has_a_scope_of_its_own_and_never_sees_a_request(app, anna):
    script = (ROOT / "static" / "js" / "staff" / "worker.js").read_text()
    assert set(re.findall(r'addEventListener\("(\w+)"', script)) == {
        "install", "push", "notificationclick",
    }  # fmt: skip
    make_once(app.config["HOMEPROG"].instance)
    page = browser(app, anna).get("/staff/devices").text
    assert 'data-worker="/static/js/staff/worker.js"' in page  # the phone's scope is /phone/
