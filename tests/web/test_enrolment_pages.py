"""Enrolment by its forms: begun, left, resumed, corrected; nothing typed is lost."""

from datetime import date, timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select

from homeprog.clock import clock
from homeprog.extensions import db
from homeprog.storage import courses, enrolments, patients
from homeprog.storage.models import Course, Patient, Staff
from tests import cast
from tests.hour import AT
from tests.web.staff_client import settled, signed_in

OPERATED = (AT.date() - timedelta(days=8)).isoformat()
BEGUN = {"name": "Grace Obi", "born": "4/3/1968", "operation_date": OPERATED}
REPAIR = {"repairs.1.digit": "middle", "repairs.1.structure": "EDC", "repairs.1.zone": "VI"}
FACTS = {
    "operation_date": OPERATED, "side": "left", "handedness": "right", "worn": "splint",
    "age_group": "adult", "follows_plan": "alone", "surgeon": "Mr Oyelaran", "rows": "3",
    "with_it": ["nerve"], "weakens": ["diabetes"],
}  # fmt: skip


@pytest.fixture
def anna(app: Flask) -> Staff:
    now = clock().now()
    return settled(cast.staff(db.session(), cast.clinic(db.session(), now), now))


@pytest.fixture
def client(app: Flask, anna: Staff) -> FlaskClient:
    return signed_in(app, anna)


@pytest.fixture
def clerk(app: Flask, anna: Staff) -> FlaskClient:
    where = cast.workplace(db.session(), anna)
    who = cast.staff(db.session(), where, clock().now(), "enroller", None, "Carl Frey")
    return signed_in(app, settled(who))


def only_course() -> Course:
    return db.session.scalars(select(Course)).one()


def begin(client: FlaskClient, **more: str) -> Course:
    answer = client.post("/patients/new", data=BEGUN | more)
    assert answer.status_code == 303, answer.text
    return only_course()


def test_name_birth_date_and_operation_date_begin_an_enrolment_and_the_rest_is_listed(
    clerk: FlaskClient,
) -> None:
    course = begin(clerk)
    page = clerk.get(f"/patients/{course.patient_id}").text
    assert "hospital number, side, telephone, consent, a phone paired" in page
    assert "digit and structure, what is worn now, handedness" in page


def test_a_wrong_field_is_named_and_everything_typed_is_kept(clerk: FlaskClient) -> None:
    typed = BEGUN | {
        "born": "31/2/1968", "tel": "ring me", "best_times": "after tea", "side": "right",
        "consent": "signed form", "carer_name": "Tom Obi", "interpreter": "yes",
    }  # fmt: skip
    answer = clerk.post("/patients/new", data=typed)
    assert answer.status_code == 422
    for kept in ("Grace Obi", "31/2/1968", "ring me", "after tea", "signed form", "Tom Obi"):
        assert f'value="{kept}"' in answer.text
    assert 'value="right" checked' in answer.text
    assert 'name="interpreter" value="yes" checked' in answer.text
    assert "Say the date as 28/5/2026" in answer.text
    assert "Not a number to ring." in answer.text
    assert db.session.scalars(select(Patient)).all() == []


@pytest.mark.parametrize(
    ("operated", "message"),
    [
        ((AT.date() + timedelta(days=2)).isoformat(), "lies in the future"),
        ((AT.date() - timedelta(days=400)).isoformat(), "More than 365 days ago"),
        ("1950-01-01", "before the birth date"),
    ],
)
def test_an_operation_date_that_cannot_be_meant_is_refused(
    clerk: FlaskClient, operated: str, message: str
) -> None:
    answer = clerk.post("/patients/new", data=BEGUN | {"operation_date": operated})
    assert answer.status_code == 422
    assert message in answer.text


def test_an_operation_long_ago_is_taken_with_a_reason(clerk: FlaskClient) -> None:
    long_ago = (AT.date() - timedelta(days=400)).isoformat()
    course = begin(clerk, operation_date=long_ago, operation_date_reason="late referral")
    assert course.day_zero.isoformat() == long_ago


def test_somebody_alike_is_shown_and_going_on_needs_a_tick(clerk: FlaskClient) -> None:
    course = begin(clerk, number="SH 40217")
    for alike in ({"name": "Obi, Grace"}, {"name": "Someone Else", "number": "sh40217"}):
        answer = clerk.post("/patients/new", data=BEGUN | alike)
        assert answer.status_code == 422
        assert "Is this the same person?" in answer.text
        assert f'href="/patients/{course.patient_id}"' in answer.text
    assert clerk.post(
        "/patients/new", data=BEGUN | {"name": "Obi, Grace", "another_person": "yes"}
    ).status_code == 303  # fmt: skip
    assert len(db.session.scalars(select(Patient)).all()) == 2


def test_the_same_birth_date_with_another_name_is_nobody_alike(clerk: FlaskClient) -> None:
    begin(clerk)
    answer = clerk.post("/patients/new", data=BEGUN | {"name": "Peter Lang"})
    assert answer.status_code == 303


def test_the_letters_part_is_resumed_with_what_was_there(clerk: FlaskClient) -> None:
    course = begin(clerk, tel="07700 900123", best_times="after 16:00")
    page = clerk.get(f"/courses/{course.id}/letter").text
    for kept in ("Grace Obi", "1968-03-04", OPERATED, "07700 900123", "after 16:00"):
        assert f'value="{kept}"' in page
    more = {"number": "SH 40217", "side": "left", "consent": "signed form", "tel": "07700 900123"}
    answer = clerk.post(f"/courses/{course.id}/letter", data=BEGUN | more)
    assert answer.status_code == 303
    lacking = enrolments.missing(db.session(), only_course(), clock().now())
    assert lacking.clerk == ("a phone paired",)


def test_the_clinicians_part_is_saved_bit_by_bit(client: FlaskClient, anna: Staff) -> None:
    course = begin(client)
    path = f"/courses/{course.id}/facts"
    some = {"operation_date": OPERATED, "worn": "plaster", "rows": "3"}
    assert client.post(path, data=some).status_code == 303
    assert 'value="plaster" checked' in client.get(path).text
    assert client.post(path, data=FACTS | REPAIR | {"therapist": str(anna.id)}).status_code == 303
    now = clock().now()
    facts = courses.facts_in_force(db.session(), course, now)
    assert facts["worn"] == "splint"
    assert facts["with_it"] == ("nerve",)
    assert courses.hand_and_finger(db.session(), course, now) == ("Left hand", "middle finger")
    lacking = enrolments.missing(db.session(), course, now)
    assert lacking.clinician == ("regime", "confirmation")


def test_a_repair_that_cannot_be_is_named_in_its_row_and_kept_with_all_else(
    client: FlaskClient,
) -> None:
    course = begin(client)
    wrong = {"repairs.1.digit": "thumb", "repairs.1.structure": "EDC", "repairs.1.zone": "VI",
             "repairs.2.structure": "ECRL", "repairs.2.zone": "VII", "repairs.2.digit": "ring",
             "repairs.1.cut_percent": "140"}  # fmt: skip
    answer = client.post(f"/courses/{course.id}/facts", data=FACTS | wrong)
    assert answer.status_code == 422
    assert "From 1 to 99 per cent" in answer.text
    assert 'href="#f-repairs-2-digit"' in answer.text
    assert "A wrist tendon has no digit" in answer.text
    for kept in ('value="Mr Oyelaran"', 'value="140"', 'value="EDC" selected',
                 'value="nerve" checked', 'value="diabetes" checked'):  # fmt: skip
        assert kept in answer.text
    wrong["repairs.1.cut_percent"] = "40"
    answer = client.post(f"/courses/{course.id}/facts", data=FACTS | wrong)
    assert "EDC does not go to the thumb." in answer.text


def test_an_enroller_is_not_led_to_the_clinicians_part(
    client: FlaskClient, clerk: FlaskClient
) -> None:
    course = begin(clerk)
    pages = (f"/patients/{course.patient_id}", f"/courses/{course.id}/letter", "/patients/new")
    for who, led in ((client, True), (clerk, False)):
        for page in pages:
            text = who.get(page).text
            there = f"/courses/{course.id}/facts" in text or 'value="facts"' in text
            assert there is led, (page, led)


def test_an_enroller_does_not_enter_the_clinicians_part(clerk: FlaskClient) -> None:
    course = begin(clerk)
    assert clerk.get(f"/courses/{course.id}/facts").status_code == 403
    assert clerk.post(f"/courses/{course.id}/facts", data=FACTS).status_code == 403


@pytest.mark.parametrize("words", ["obi", "GRACE", "40217", "SH-40217", "4/3/1968", "1968-03-04"])
def test_a_patient_is_found_by_name_number_or_birth_date(clerk: FlaskClient, words: str) -> None:
    course = begin(clerk, number="SH 40217")
    answer = clerk.get("/patients", query_string={"find": words})
    assert answer.headers["Location"] == f"/patients/{course.patient_id}"


def test_nobody_of_another_clinic_is_found_or_opened(app: Flask, clerk: FlaskClient) -> None:
    course = begin(clerk, number="SH 40217")
    db.session.expunge(course)
    now = clock().now()
    other = cast.clinic(db.session(), now, "Quay Hand Unit")
    stranger = cast.staff(db.session(), other, now, name="Stig Ek")
    client = signed_in(app, settled(stranger))
    elsewhere = stranger.clinic_id
    assert "Nobody here" in client.get("/patients?find=obi").text
    own = [
        f"/courses/{course.id}/{part}" for part in ("facts", "letter", "confirmation", "closing")
    ]
    theirs = f"/patients/{course.patient_id}"
    for path in (*own, theirs, f"{theirs}/pairing"):
        answer, unknown = client.get(path), client.get("/patients/" + "0" * 32)
        assert answer.status_code == unknown.status_code == 404
    assert patients.alike(db.session(), elsewhere, "Grace Obi", date(1968, 3, 4), "SH 40217") == []


def test_a_second_course_waits_until_the_first_is_closed_where_it_follows_it(
    client: FlaskClient,
) -> None:
    course = begin(client, side="left")
    again = {"operation_date": OPERATED, "side": "left", "previous_id": str(course.id)}
    path = f"/patients/{course.patient_id}/courses"
    client.post(path, data=again)
    assert "Close the course before first" in client.get(f"/patients/{course.patient_id}").text
    closing = {"reason": "new_operation", "words": ""}
    assert client.post(f"/courses/{course.id}/closing", data=closing).status_code == 303
    client.post(path, data=again)
    second = courses.open_courses_of(db.session(), course.patient_id)
    assert [c.previous_id for c in second] == [course.id]
