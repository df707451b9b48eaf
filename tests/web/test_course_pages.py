"""Confirmation, closing, pairing and the clinic's page, by their forms."""

import json
from datetime import UTC, date, datetime
from html import unescape

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select

from homeprog.clock import clock
from homeprog.extensions import db
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage import clinics, courses, patients
from homeprog.storage.models import Course, Pairing, Staff
from homeprog.web.words import local_date
from tests import cast
from tests.regime_cast import CONTROLLED, approved
from tests.web.staff_client import settled, signed_in


@pytest.fixture
def anna(app: Flask) -> Staff:
    now = clock().now()
    return settled(cast.staff(db.session(), cast.clinic(db.session(), now), now))


@pytest.fixture
def course(anna: Staff) -> Course:
    made = cast.enrolled(db.session(), anna, clock().now())
    cast.signed(db.session(), anna, clock().now())
    db.session.commit()
    db.session.refresh(made)
    db.session.expunge(made)
    return made


@pytest.fixture
def client(app: Flask, anna: Staff) -> FlaskClient:
    return signed_in(app, anna)


def regime_set(anna: Staff, course: Course) -> None:
    session, now, by = db.session(), clock().now(), cast.acting(anna)
    where = cast.workplace(session, anna)
    surgeon = cast.staff(session, where, now, profession="surgeon", name="Sam Oye")
    template = approved(session, by, cast.acting(surgeon, "surgeon"), CONTROLLED, now)
    set_regime(session, by, course.id, Wanted(template.id, template.body, "as it is"), now)
    session.commit()


def test_the_confirmation_page_says_what_is_missing_and_then_takes_the_source(
    client: FlaskClient, anna: Staff, course: Course
) -> None:
    path = f"/courses/{course.id}/confirmation"
    assert "Before confirming, enter: regime." in client.get(path).text
    regime_set(anna, course)
    answer = client.post(path, data={"source": "letter", "source_words": ""})
    assert answer.status_code == 422
    assert 'value="letter" checked' in answer.text
    assert "This is needed." in answer.text
    done = client.post(path, data={"source": "letter", "source_words": "of 28 May"})
    assert done.status_code == 303
    page = client.get(path).text
    assert "against the discharge letter: of 28 May" in page
    assert "Not read back." in page
    assert "Not read back." in client.get(f"/patients/{course.patient_id}").text


def test_who_is_no_clinician_sees_no_confirmation_form_and_cannot_send_it(
    app: Flask, anna: Staff, course: Course
) -> None:
    regime_set(anna, course)
    where = cast.workplace(db.session(), anna)
    aide = cast.staff(db.session(), where, clock().now(), "therapist", None, "Bo Lind")
    client = signed_in(app, settled(aide))
    path = f"/courses/{course.id}/confirmation"
    assert "Only a clinician may confirm a course." in client.get(path).text
    given = {"source": "letter", "source_words": "of 28 May"}
    assert client.post(path, data=given).status_code == 403
    assert courses.confirmation(db.session(), course, clock().now()) is None


def test_closing_needs_a_reason_and_keeps_what_was_typed(
    client: FlaskClient, course: Course
) -> None:
    path = f"/courses/{course.id}/closing"
    answer = client.post(path, data={"reason": "", "words": "moved to the coast"})
    assert answer.status_code == 422
    assert "moved to the coast" in answer.text
    given = {"reason": "moved_elsewhere", "words": "moved to the coast"}
    assert client.post(path, data=given).status_code == 303
    assert "Closed: moved elsewhere." in client.get(f"/patients/{course.patient_id}").text


def test_a_code_is_shown_once_with_link_and_qr_and_without_the_patients_name(
    client: FlaskClient, course: Course
) -> None:
    path = f"/patients/{course.patient_id}/pairing"
    answer = client.post(path)
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    assert 'href="http://localhost/phone/#pair=' in answer.text
    assert "<svg" in answer.text
    assert "Grace" not in answer.text
    assert "SH 40217" not in answer.text
    secret = unescape(answer.text).split("#pair=")[1].split('"')[0]
    assert secret not in client.get(path).text
    assert len(db.session.scalars(select(Pairing)).all()) == 1


def test_pairing_is_refused_on_the_page_with_what_is_missing(
    client: FlaskClient, anna: Staff
) -> None:
    course = cast.enrolled(db.session(), anna, clock().now(), number="SH 1")
    path = f"/patients/{course.patient_id}/pairing"
    db.session.commit()
    answer = client.post(path)
    assert answer.status_code == 409
    assert "Text not signed: trouble.snap." in answer.text
    assert "Show a code" not in answer.text


def test_pairing_is_put_off_by_one_tap_and_a_phone_is_ended_by_another(
    client: FlaskClient, course: Course
) -> None:
    page = f"/patients/{course.patient_id}"
    assert client.post(f"/courses/{course.id}/pairing-at-first-visit").status_code == 303
    assert "Pair the phone at the first therapy visit." in client.get(page).text
    device = cast.phone(db.session(), course, clock().now())
    path = f"/phones/{device.id}/ending"
    db.session.commit()
    assert client.post(path).status_code == 303
    assert patients.paired(db.session(), course.patient_id) == []
    assert "revoked" in client.get(page).text


def test_a_manager_replaces_the_clinics_file_and_its_faults_stand_beside_it(
    app: Flask, anna: Staff
) -> None:
    where = cast.workplace(db.session(), anna)
    boss = cast.staff(db.session(), where, clock().now(), "manager", None, "Ruth Meyer")
    client = signed_in(app, settled(boss))
    wrong = json.dumps({"hours": [{"days": "someday", "from": "08:00", "to": "17:00"}]})
    answer = client.post("/clinic", data={"file": wrong})
    assert answer.status_code == 422
    assert "hours.0.days: &#39;someday&#39; is not a weekday" in answer.text
    assert "someday&#34;" in answer.text
    right = json.dumps({"hours": [{"days": "Tuesday", "from": "08:00", "to": "12:00"}]})
    assert client.post("/clinic", data={"file": right}).status_code == 303
    held = clinics.hours(db.session(), boss.clinic_id, clock().now())
    assert [h.words for h in held] == ["Tuesday 08:00 to 12:00"]
    assert "Tuesday 08:00 to 12:00" in client.get("/clinic").text


def test_only_a_manager_changes_the_clinic(client: FlaskClient) -> None:
    assert client.post("/clinic", data={"file": "{}"}).status_code == 403


def test_dates_on_staff_pages_are_the_clinics_own_near_midnight() -> None:
    night = datetime(2026, 6, 5, 23, 30, tzinfo=UTC)
    assert local_date(night, "Europe/London") == date(2026, 6, 6)  # 0:30 in summer time
    assert local_date(night, "America/New_York") == date(2026, 6, 5)
