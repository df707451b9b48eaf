"""A language is on a phone only as far as the clinic has read it and signed it off."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from homeprog import phrases
from homeprog.domain.errors import Conflict, Forbidden, Invalid, NotFound
from homeprog.services.actor import Actor
from homeprog.services.choose_language import choose_language
from homeprog.services.left_in_english import left_in_english
from homeprog.services.phone_plan import phone_plan
from homeprog.services.read_language import read_language
from homeprog.services.sign_language import sign_language, withdraw_language
from homeprog.services.sign_text import sign_text
from homeprog.services.words_of import words_of
from homeprog.storage.models import Device
from tests import cast as people
from tests.regime_cast import OnRegime, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)  # a Friday
MINUTE = timedelta(minutes=1)
LATER = NOW + timedelta(hours=2)


@pytest.fixture
def cast(db) -> OnRegime:
    """A patient who speaks Arabic, at a clinic that has signed the English texts as they ship."""
    made = on_regime(db, NOW - timedelta(days=3))
    made.patient.language = "ar"
    sign_text(db, made.therapist, None, NOW - timedelta(days=1))
    return made


def phone(db, cast: OnRegime, **own: Any) -> Device:
    device = Device(at=NOW, clinic_id=cast.clinic.id, patient_id=cast.patient.id, **own)
    db.add(device)
    db.flush()
    return device


def plan(db, cast: OnRegime, now: datetime = LATER, **own: Any) -> dict[str, Any]:
    return phone_plan(db, phone(db, cast, **own), now)


def on(db, cast: OnRegime, language: str = "ar", now: datetime = NOW) -> None:
    read = read_language(db, cast.clinic.id, language, now)
    sign_language(db, cast.therapist, language, read.digest, "Huda, interpreter", now)


def arabic(text: str) -> bool:
    return any("\u0600" <= letter <= "\u06ff" for letter in text)


def test_a_language_nobody_signed_off_is_nowhere_in_the_plan(db, cast):
    told = plan(db, cast)
    assert (told["language"], told["words"]) == ("en", None)
    assert told["languages_offered"] == [{"code": "en", "name": "English"}]
    assert not arabic(json.dumps(told, ensure_ascii=False))


def test_texts_signed_in_a_language_that_is_off_stay_off(db, cast):
    """Texts are signed one by one; that alone switches nothing on."""
    sign_text(db, cast.therapist, None, NOW, language="ar")
    assert not arabic(json.dumps(plan(db, cast), ensure_ascii=False))


def test_once_signed_off_the_plan_is_in_it_from_the_hand_to_the_warnings(db, cast):
    on(db, cast)
    told = plan(db, cast)
    course = told["courses"][0]
    assert (told["language"], course["hand"], course["finger"]) == (
        "ar", "اليد اليسرى", "الإصبع الوسطى",
    )  # fmt: skip
    assert course["day"]["words"] == "اليوم 13 (أسبوع واحد و6 أيام)"
    assert course["phase"]["cautions"][0] == "دع الشريط المطاطي يرفع. لا ترفع الأصابع بنفسك."
    assert told["texts"]["screen.stop"]["lines"][0] == "أوقف التمارين."
    assert told["texts"]["screen.stop"]["title"] == "توقف"
    assert all(arabic(each["label"]) for each in told["troubles"])
    assert all(arabic(each["label"]) for each in course["checks"][0]["questions"])
    assert all(arabic(step) for each in course["exercises"] for step in each["steps"])


def test_a_number_to_ring_has_the_language_before_the_clinics_own_label(db):
    """The clinic names its numbers once, in its own words: an interpreter's patient reads both."""
    where = people.clinic(db, NOW)
    anna = people.staff(db, where, NOW)
    course = people.enrolled(db, anna, NOW)
    sign_text(db, people.acting(anna), None, NOW)
    read = read_language(db, where.id, "ar", NOW)
    sign_language(db, people.acting(anna), "ar", read.digest, "Huda, interpreter", NOW)
    phone, english = people.phone(db, course, NOW), people.phone(db, course, NOW)
    phone.language = "ar"
    told = phone_plan(db, phone, LATER)
    own = phone_plan(db, english, LATER)["ring"][0]["label"]
    assert told["ring"][0]["label"] == f"اتصل بالعيادة: \u2068{own}\u2069"
    assert told["emergency"] == {"label": "الطوارئ: \u2068Ambulance\u2069", "tel": "999"}
    assert told["ring"][0]["read_words"] == "لا أحد هنا يقرأ هذا."


def test_it_is_signed_by_a_clinician_who_names_who_read_it(db, cast):
    read = read_language(db, cast.clinic.id, "ar", NOW)
    clerk = Actor(cast.clinic.id, "staff", cast.therapist.id, "enroller", None)
    with pytest.raises(Forbidden):
        sign_language(db, clerk, "ar", read.digest, "Huda, interpreter", NOW)
    with pytest.raises(Invalid):
        sign_language(db, cast.therapist, "ar", read.digest, "  ", NOW)
    step = sign_language(db, cast.therapist, "ar", read.digest, "Huda, interpreter", NOW)
    assert (step.by_id, step.reader, step.at) == (cast.therapist.id, "Huda, interpreter", NOW)
    assert step.digest == read.digest


def test_words_that_changed_since_the_page_was_read_are_not_signed(db, cast):
    read = read_language(db, cast.clinic.id, "ar", NOW)
    sign_text(db, cast.therapist, ["screen.stop"], NOW, {"screen.stop": ("Stop", ["Halt."])})
    with pytest.raises(Conflict):
        sign_language(db, cast.therapist, "ar", read.digest, "Huda, interpreter", NOW)


def test_english_and_a_language_that_does_not_ship_are_not_signed_off(db, cast):
    for language in ("en", "xx"):
        with pytest.raises(NotFound):
            read_language(db, cast.clinic.id, language, NOW)


def test_a_language_with_a_warning_left_in_english_is_not_signed_off(db, cast):
    """The clinic's own English words have no translation yet: what ships is of other words."""
    own = {"trouble.snap": ("A snap", ["Come in at once."])}
    sign_text(db, cast.therapist, None, NOW, own)
    read = read_language(db, cast.clinic.id, "ar", NOW + MINUTE)
    assert read.lacking == ["trouble.snap"]
    with pytest.raises(Conflict):
        sign_language(db, cast.therapist, "ar", read.digest, "Huda, interpreter", NOW + MINUTE)
    theirs = {"trouble.snap": ("طقة", ["تعال فورًا."])}
    sign_text(db, cast.therapist, None, NOW + MINUTE, theirs, "ar")
    on(db, cast, now=NOW + 2 * MINUTE)
    assert plan(db, cast)["texts"]["trouble.snap"]["lines"] == ["تعال فورًا."]


def test_a_translation_falls_when_the_clinic_signs_other_english(db, cast):
    on(db, cast)
    sign_text(db, cast.therapist, ["screen.stop"], NOW + MINUTE)  # the same words again
    assert arabic(plan(db, cast)["texts"]["screen.stop"]["lines"][0])
    other = {"screen.stop": ("Stop", ["Stop. Ring at any hour."])}
    sign_text(db, cast.therapist, None, NOW + 2 * MINUTE, other)
    assert plan(db, cast)["texts"]["screen.stop"]["lines"] == ["Stop. Ring at any hour."]


def test_withdrawn_it_is_off_and_signed_again_it_is_on(db, cast):
    on(db, cast)
    withdraw_language(db, cast.therapist, "ar", NOW + MINUTE)
    assert plan(db, cast)["language"] == "en"
    with pytest.raises(Conflict):
        withdraw_language(db, cast.therapist, "ar", NOW + 2 * MINUTE)
    on(db, cast, now=NOW + 3 * MINUTE)
    assert plan(db, cast)["language"] == "ar"


def test_each_step_changes_the_version_of_the_plan(db, cast):
    before = plan(db, cast)["version"]
    on(db, cast)
    signed = plan(db, cast)["version"]
    withdraw_language(db, cast.therapist, "ar", NOW + MINUTE)
    assert len({before, signed, plan(db, cast)["version"]}) == 3


def test_another_clinics_sign_off_is_no_sign_off(db, cast):
    elsewhere = on_regime(db, NOW - timedelta(days=3))
    sign_text(db, elsewhere.therapist, None, NOW - timedelta(days=1))
    on(db, elsewhere)
    assert plan(db, cast)["language"] == "en"


def test_a_phone_chooses_among_what_is_on_and_speaks_it_whatever_the_other_phone_does(db, cast):
    on(db, cast, "ar")
    on(db, cast, "es")
    carers = phone(db, cast, whose="carer")
    choose_language(db, cast.therapist, carers, "es", NOW)
    assert [phone_plan(db, carers, LATER)["language"], plan(db, cast)["language"]] == ["es", "ar"]
    with pytest.raises(Invalid):
        choose_language(db, cast.therapist, carers, "hi", NOW)
    withdraw_language(db, cast.therapist, "es", NOW + MINUTE)
    assert phone_plan(db, carers, LATER)["language"] == "en"


@pytest.fixture
def ships(monkeypatch):
    """Change what ships, as a new release of the app would."""

    def change(language: str, **more: str) -> None:
        own = {**phrases.shipped(language), **more}
        was = phrases.shipped
        changed = staticmethod(lambda each: own if each == language else was(each))
        for module in ("homeprog.phrases", "homeprog.services.words_of",
                       "homeprog.services.read_language"):  # fmt: skip
            monkeypatch.setattr(f"{module}.shipped", changed)

    return change


def said(db, cast, key: str) -> str:
    return words_of(db, cast.clinic.id, "ar", LATER).say(key)


def test_a_translation_that_ships_later_waits_for_the_next_sign_off(db, cast, ships):
    on(db, cast)
    ships("ar", done="انتهى الأمر")
    read = read_language(db, cast.clinic.id, "ar", LATER)
    assert (read.state, read.unsigned) == ("changed", 1)
    assert said(db, cast, "done") == "تم"
    on(db, cast, now=NOW + MINUTE)
    assert said(db, cast, "done") == "انتهى الأمر"


def test_a_phrase_whose_english_is_another_now_is_said_in_english(db, cast, ships):
    on(db, cast)
    ships("en", done="Done for today")
    assert said(db, cast, "done") == "Done for today"
    assert said(db, cast, "start") == "ابدأ"


def test_a_phrase_that_is_new_is_said_in_english_until_it_is_read(db, cast, ships):
    on(db, cast)
    ships("en", brand_new="Brand new")
    ships("ar", brand_new="جديد تمامًا")
    assert said(db, cast, "brand_new") == "Brand new"


def test_staff_are_told_what_a_patient_is_shown_in_another_language_than_theirs(db, cast):
    off = left_in_english(db, cast.course, LATER)
    assert (off.language, off.on, off.ships) == ("ar", False, True)
    on(db, cast)
    assert left_in_english(db, cast.course, LATER) is None
    cast.patient.language = "en"
    assert left_in_english(db, cast.course, LATER) is None
    cast.patient.language = "pl"
    assert left_in_english(db, cast.course, LATER).ships is False


def test_a_sentence_of_the_clinics_own_stays_english_whole_and_staff_see_it(db, cast):
    """Half a caution in one's language is worse than one an interpreter goes through."""
    on(db, cast)
    own = "Let the band lift. Never on a Sunday."
    body = json.loads(json.dumps(cast.revision.body))
    for phase in body["phases"]:
        phase["cautions"][0] = own
    cast.revision.body = body
    db.flush()
    assert plan(db, cast)["courses"][0]["phase"]["cautions"][0] == own
    assert left_in_english(db, cast.course, LATER).sentences == (own,)
