"""The pages of languages, and what a phone is given through its API before and after a sign-off."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from homeprog.extensions import db as extension
from homeprog.phrases import LANGUAGES, shipped
from homeprog.services.pair_phone import create_pairing
from homeprog.services.sign_text import sign_text
from homeprog.storage.models import Clinic, Course, LanguageStep, Patient, Staff
from tests import cast
from tests.web.staff_cast import now
from tests.web.staff_client import settled, signed_in

PAGE = "/clinic/languages/ar"
OTHERS = [code for code in LANGUAGES if code != "en"]
OTHER_SCRIPTS = re.compile(r"[\u0600-\u06ff\u0900-\u097f]")


@pytest.fixture
def anna(app: Flask) -> Staff:
    """A clinician of a clinic that signed the English texts, with a patient who speaks Arabic."""
    session, begun = extension.session(), now() - timedelta(days=3)
    who = cast.staff(session, cast.clinic(session, begun), begun)
    sign_text(session, cast.acting(who), None, begun)
    course = cast.confirmed(session, who, begun)
    session.get_one(Patient, course.patient_id).language = "ar"
    return settled(who)


@pytest.fixture
def desk(app: Flask, anna: Staff) -> FlaskClient:
    """Her browser."""
    return signed_in(app, anna)


class Phone:
    """A paired phone that asks through the API."""

    def __init__(self, app: Flask, who: Staff) -> None:
        session = extension.session()
        patient = session.query(Course).one().patient_id
        invited = create_pairing(session, cast.acting(who), patient, now(), now())
        session.commit()
        self.client, self.csrf = app.test_client(), ""
        told = self.call("POST", "/pairings/claims", {"secret": invited.secret})
        assert told.json is not None
        self.csrf = told.json["csrf"]

    def call(self, method: str, path: str, body: Any = None) -> TestResponse:
        headers = {"X-CSRF-Token": self.csrf}
        answer = self.client.open(f"/api/v1{path}", method=method, json=body, headers=headers)
        extension.session.remove()
        return answer

    def plan(self) -> dict[str, Any]:
        told: dict[str, Any] = self.call("GET", "/phone/plan").get_json()
        return told


def sign_off(desk: FlaskClient, reader: str = "Huda Sami, interpreter") -> TestResponse:
    found = re.search(r'name="digest" value="(\w+)"', desk.get(PAGE).text)
    digest = found[1] if found else ""
    return desk.post(f"{PAGE}/sign-off", data={"digest": digest, "reader": reader})


def test_no_letter_of_an_unreviewed_language_reaches_a_phone_by_any_of_its_routes(app, anna):
    """The plan, the words, and the choice: each of every language that ships."""
    phone = Phone(app, anna)
    assert not OTHER_SCRIPTS.search(phone.call("GET", "/phone/plan").get_data(as_text=True))
    assert phone.call("GET", "/phone/words").get_json()["phrases"] == {}
    for code in OTHERS:
        refused = phone.call("PUT", "/phone/language", {"language": code})
        assert (refused.status_code, refused.get_json()["error"]["code"]) == (422, "language_off")
        assert phone.plan()["language"] == "en"


def test_the_phrases_of_another_language_are_no_file_that_a_phone_could_load(app):
    for code, status in [*((code, 404) for code in OTHERS), ("en", 200)]:
        assert app.test_client().get(f"/shared/phrases/{code}.json").status_code == status
        extension.session.remove()


def test_signed_off_on_the_page_the_phone_is_given_its_words_by_their_version(app, desk, anna):
    assert sign_off(desk).status_code == 303
    phone = Phone(app, anna)
    plan, words = phone.plan(), phone.call("GET", "/phone/words").get_json()
    assert (plan["language"], plan["words"]) == ("ar", words["version"])
    assert [each["name"] for each in plan["languages_offered"]] == ["English", "العربية"]
    assert words["phrases"] == json.loads(json.dumps(dict(shipped("ar"))))


def test_withdrawn_on_the_page_the_phone_is_in_english_at_its_next_look(app, desk, anna):
    sign_off(desk)
    phone = Phone(app, anna)
    assert phone.plan()["language"] == "ar"
    assert desk.post(f"{PAGE}/withdrawal").status_code == 303
    assert (phone.plan()["language"], phone.plan()["words"]) == ("en", None)
    assert phone.call("GET", "/phone/words").get_json()["phrases"] == {}


def test_a_phone_chooses_among_what_is_on(app, desk, anna):
    sign_off(desk)
    phone = Phone(app, anna)
    assert phone.call("PUT", "/phone/language", {"language": "en"}).status_code == 204
    assert phone.plan()["language"] == "en"
    assert phone.call("PUT", "/phone/language", {"language": "ar"}).status_code == 204
    assert phone.plan()["language"] == "ar"


def test_the_page_shows_each_text_beside_english_and_says_that_nobody_reviewed_it(desk):
    text = desk.get(PAGE).text
    assert "Not reviewed. For use with an interpreter only" in text
    for said in ("Undo every strap and bandage.", "فكّ كل الأشرطة والضمادات.", "Let the band lift.",
                 "دع الشريط المطاطي يرفع.", "Something is wrong", "هناك مشكلة"):  # fmt: skip
        assert said in text, said
    assert '<td lang="ar" dir="rtl">' in text


def test_a_name_of_the_reader_is_needed_and_what_was_signed_is_kept(desk, anna):
    refused = sign_off(desk, reader=" ")
    assert (refused.status_code, "Say who read it." in refused.text) == (422, True)
    assert extension.session.query(LanguageStep).count() == 0
    sign_off(desk)
    step = extension.session.query(LanguageStep).one()
    assert (step.reader, step.by_id) == ("Huda Sami, interpreter", anna.id)
    assert step.words["phrases"]["done"] == ["Done", "تم"]
    page = desk.get(PAGE).text
    assert "on: read by Huda Sami, interpreter, signed off by Anna Berg" in page


def test_who_is_no_clinician_reads_and_prints_and_does_not_sign(app, anna):
    session, begun = extension.session(), now() - timedelta(days=2)
    where = session.get_one(Clinic, anna.clinic_id)
    clerk = cast.staff(session, where, begun, "enroller", None, "Ole Clerk")
    client = signed_in(app, settled(clerk))
    page = client.get(PAGE)
    assert (page.status_code, "sign-off" in page.text) == (200, False)
    for act in ("sign-off", "withdrawal"):
        assert client.post(f"{PAGE}/{act}", data={"reader": "I"}).status_code == 403
    assert extension.session.query(LanguageStep).count() == 0


def test_a_page_that_was_read_before_the_words_changed_signs_nothing(desk):
    old = desk.post(f"{PAGE}/sign-off", data={"digest": "0" * 64, "reader": "Huda"})
    assert (old.status_code, "The words changed while you read." in old.text) == (422, True)


def test_enrolment_names_the_languages_that_phones_speak_first(desk):
    text = desk.get("/patients/new").text
    offered = re.findall(r'<option value="(\w\w)"[^>]*>([^<]+)</option>', text)[:4]
    assert offered == [
        ("en", "English: phones speak it"),
        ("es", "Spanish: phones are in English, print it beside"),
        ("ar", "Arabic: phones are in English, print it beside"),
        ("hi", "Hindi: phones are in English, print it beside"),
    ]
    assert '<option value="pl">Polish</option>' in text
    sign_off(desk)
    text = desk.get("/patients/new").text
    assert '<option value="ar">Arabic: phones speak it</option>' in text


def test_the_course_page_tells_staff_that_the_phone_is_in_english_and_what_to_print(desk):
    course = extension.session.query(Course).one().id
    text = desk.get(f"/courses/{course}").text
    assert "Arabic is not on: the phone is in English." in text
    assert 'href="/clinic/languages/ar"' in text
    sign_off(desk)
    assert "is not on" not in desk.get(f"/courses/{course}").text


def test_an_unknown_language_has_no_page(desk):
    for code in ("xx", "en"):
        assert desk.get(f"/clinic/languages/{code}").status_code == 404
