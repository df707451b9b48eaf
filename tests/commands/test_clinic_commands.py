"""clinic add, clinic set, text list, text sign, staff add."""

import json
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import select

from homeprog.clock import clock
from homeprog.domain.trouble import required_texts
from homeprog.extensions import db
from homeprog.storage import clinics
from homeprog.storage.models import Clinic, SignedText, Staff

WHOLE = {
    "numbers": [
        {"label": "Ring the hand unit", "tel": "020 7946 0101",
         "days": "Monday to Friday", "from": "08:00", "to": "17:00"},
        {"label": "Ring the ward", "tel": "020 7946 0199",
         "days": "Monday to Thursday", "from": "17:00", "to": "08:00"},
        {"label": "Ring the ward", "tel": "020 7946 0199",
         "days": ["Saturday"], "from": "00:00", "to": "24:00"},
        {"label": "Ring the ward", "tel": "020 7946 0199",
         "days": ["Sunday"], "from": "00:00", "to": "24:00"},
        {"label": "Ring the ward", "tel": "020 7946 0199",
         "days": ["Friday"], "from": "17:00", "to": "24:00"},
        {"label": "Ring the ward", "tel": "020 7946 0199",
         "days": ["Monday"], "from": "00:00", "to": "08:00"},
    ],
    "emergency": {"label": "Ambulance", "tel": "999"},
    "hours": [{"days": "Monday to Friday", "from": "08:00", "to": "17:00"}],
    "closing_days": [{"day": "2026-12-25", "why": "Christmas Day"}],
    "duty": [{"days": "Monday to Friday", "from": "08:00", "to": "17:00", "who": "nobody"}],
    "waking": {"wake": "06:30", "sleep": "23:00"},
    "settings": {"pairing_minutes": 20},
}  # fmt: skip


def run(app: Flask, *args: str) -> tuple[int, str]:
    result = app.test_cli_runner().invoke(args=args)
    return result.exit_code, result.output


def set_file(app: Flask, tmp_path: Path, given: object) -> tuple[int, str]:
    file = tmp_path / "clinic.json"
    file.write_text(given if isinstance(given, str) else json.dumps(given))
    return run(app, "clinic", "set", "Harbour", str(file))


@pytest.fixture
def harbour(app: Flask) -> Flask:
    assert run(app, "clinic", "add", "Harbour", "--zone", "Europe/London")[0] == 0
    return app


def test_a_clinic_is_added_once_and_only_in_a_zone_that_exists(app: Flask) -> None:
    assert run(app, "clinic", "add", "Quay", "--zone", "Europe/London")[0] == 0
    code, said = run(app, "clinic", "add", "Quay", "--zone", "Europe/Atlantis")
    assert code == 1
    assert "name: There is a clinic Quay already." in said
    assert "zone: 'Europe/Atlantis' is not a zone" in said
    assert len(db.session.scalars(select(Clinic)).all()) == 1


def test_a_whole_file_sets_every_part(harbour: Flask, tmp_path: Path) -> None:
    code, said = set_file(harbour, tmp_path, WHOLE)
    assert code == 0, said
    where = clinics.named(db.session(), "Harbour")
    now = clock().now()
    numbers = clinics.numbers(db.session(), where.id, now)
    assert {n.tel for n in numbers} == {"020 7946 0101", "020 7946 0199"}
    assert clinics.emergency(db.session(), where.id, now) == ("Ambulance", "999")
    assert len(clinics.hours(db.session(), where.id, now)) == 5
    assert [str(d) for d in clinics.closing_days(db.session(), where.id, now)] == ["2026-12-25"]
    assert clinics.setting(db.session(), where.id, "waking.wake", now) == "06:30"
    assert clinics.setting(db.session(), where.id, "pairing_minutes", now) == 20
    assert "Text not signed: trouble.snap." in said
    assert "No number to ring" not in said


def test_every_fault_of_a_file_is_told_and_nothing_of_it_is_used(
    harbour: Flask, tmp_path: Path
) -> None:
    faulty = {
        "numbers": [{"label": "", "tel": "call me", "days": "someday", "from": "8", "to": "17:00"}],
        "hours": [{"days": "Monday", "from": "08:00", "to": "17:00"}],
        "closing_days": [{"day": "2026-02-30", "why": "x"}],
        "settings": {"pairing_minutes": 900, "colour": "red"},
        "opening": [],
    }
    code, said = set_file(harbour, tmp_path, faulty)
    assert code == 1
    for path in (
        "numbers.0.label: This is needed",
        "numbers.0.tel: 'call me' is not a telephone number.",
        "numbers.0.days: 'someday' is not a weekday",
        "numbers.0.from: '8' is not a time",
        "numbers: No number to ring: Monday 00:00 to 24:00.",
        "closing_days.0.day: '2026-02-30' is not a date",
        "settings.pairing_minutes:",
        "settings.colour: There is no setting 'colour'.",
        "opening: There is no part of this name",
    ):
        assert path in said
    where = clinics.named(db.session(), "Harbour")
    assert clinics.hours(db.session(), where.id, clock().now()) == []


def test_a_file_that_is_not_json_says_where(harbour: Flask, tmp_path: Path) -> None:
    code, said = set_file(harbour, tmp_path, '{"numbers": [}')
    assert code == 1
    assert "line 1 column 14" in said


def test_duty_names_sign_ins_of_the_clinic_or_nobody(harbour: Flask, tmp_path: Path) -> None:
    duty = [{"days": "every day", "from": "08:00", "to": "17:00", "who": "stranger"}]
    code, said = set_file(harbour, tmp_path, {"duty": duty})
    assert code == 1
    assert "duty: 'stranger' is not a sign-in of this clinic" in said


def test_an_emptied_duty_list_takes_everybody_off_duty(harbour: Flask, tmp_path: Path) -> None:
    run(harbour, "staff", "add", "Harbour", "Anna Berg", "--role", "therapist")
    duty = [{"days": "every day", "from": "00:00", "to": "24:00", "who": "anna.berg"}]
    assert set_file(harbour, tmp_path, {"duty": duty})[0] == 0
    where = clinics.named(db.session(), "Harbour")
    assert clinics.duty_now(db.session(), where.id, clock().now()) != []
    db.session.rollback()
    assert set_file(harbour, tmp_path, {"duty": []})[0] == 0
    assert clinics.duty_now(db.session(), where.id, clock().now()) == []


def test_a_one_time_password_is_printed_and_must_be_changed(harbour: Flask) -> None:
    code, said = run(harbour, "staff", "add", "Harbour", "Åsa Lind", "--role", "enroller")
    assert code == 0
    assert "Sign-in: asa.lind" in said
    who = db.session.scalars(select(Staff)).one()
    assert who.must_change
    assert said.split("One-time password: ")[1].split()[0] not in who.password_hash


def test_a_forgotten_password_is_replaced_by_a_one_time_one(harbour: Flask) -> None:
    run(harbour, "staff", "add", "Harbour", "Anna Berg", "--role", "therapist")
    before = db.session.scalars(select(Staff.password_hash)).one()
    db.session.rollback()
    assert run(harbour, "staff", "password", "nobody.here")[0] == 1
    assert run(harbour, "staff", "password", "anna.berg")[0] == 0
    who = db.session.scalars(select(Staff)).one()
    assert who.must_change
    assert who.password_hash != before


def test_a_surgeon_has_the_role_therapist(harbour: Flask) -> None:
    args = ("staff", "add", "Harbour", "Sam Oye", "--role", "manager", "--profession", "surgeon")
    code, said = run(harbour, *args)
    assert code == 1
    assert "role: A surgeon who signs in has the role therapist." in said


def test_texts_are_signed_by_a_clinician_alone(harbour: Flask) -> None:
    run(harbour, "staff", "add", "Harbour", "Carl Frey", "--role", "enroller")
    code, said = run(harbour, "text", "sign", "--all", "--by", "carl.frey")
    assert code == 1
    assert "Only a clinician may sign a text." in said
    add = ("staff", "add", "Harbour", "Anna Berg", "--role", "therapist", "--profession")
    run(harbour, *add, "hand_therapist")
    assert run(harbour, "text", "sign", "trouble.snap", "--by", "anna.berg")[0] == 0
    _, listed = run(harbour, "text", "list", "Harbour")
    assert "signed      trouble.snap\n" in listed
    assert "not signed  trouble.fever\n" in listed
    assert run(harbour, "text", "sign", "--all", "--by", "anna.berg")[0] == 0
    signed = {row.key for row in db.session.scalars(select(SignedText))}
    assert set(required_texts(None)) <= signed


def test_an_unknown_text_is_refused_and_nothing_is_signed(harbour: Flask) -> None:
    add = ("staff", "add", "Harbour", "Anna Berg", "--role", "therapist", "--profession")
    run(harbour, *add, "hand_therapist")
    code, said = run(harbour, "text", "sign", "trouble.snap", "trouble.no", "--by", "anna.berg")
    assert code == 1
    assert "trouble.no: There is no text of this key." in said
    assert db.session.scalars(select(SignedText)).all() == []


def test_a_clinic_signs_its_own_words(harbour: Flask, tmp_path: Path) -> None:
    add = ("staff", "add", "Harbour", "Anna Berg", "--role", "therapist", "--profession")
    run(harbour, *add, "hand_therapist")
    file = tmp_path / "texts.json"
    file.write_text(json.dumps({"texts": {"trouble.snap": "Stop. Ring us now."}}))
    code, _ = run(harbour, "text", "sign", "--all", "--by", "anna.berg", "--from", str(file))
    assert code == 0
    row = db.session.scalars(select(SignedText)).one()
    assert (row.title, row.lines) == ("A snap", ["Stop.", "Ring us now."])


def test_somebody_is_changed_and_ended_by_command(harbour: Flask) -> None:
    run(harbour, "staff", "add", "Harbour", "Ruth Head", "--role", "manager")
    run(harbour, "staff", "add", "Harbour", "Anna Berg", "--role", "therapist")
    code, said = run(harbour, "staff", "change", "anna.berg", "--profession", "hand_therapist")
    assert (code, said) == (
        0, "Anna Berg: therapist, hand therapist. They must sign in again.\n"
    )  # fmt: skip
    _, said = run(harbour, "staff", "change", "anna.berg", "--profession", "none")
    assert "no clinician" in said
    code, said = run(harbour, "staff", "end", "anna.berg")
    assert (code, said) == (
        0, "Anna Berg does not work here any more. All their sign-ins have ended.\n"
    )  # fmt: skip
    assert run(harbour, "staff", "end", "anna.berg")[0] == 1
    code, said = run(harbour, "staff", "end", "ruth.head")
    assert code == 1
    assert "the only manager" in said
