"""Enrolment as rows: what is written, what is not written twice, who may be the same person."""

from datetime import date, time, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Invalid
from homeprog.services.enrol_patient import (
    ClerksPart,
    MaybeKnown,
    complete_enrolment,
    enrol_patient,
    open_course,
)
from homeprog.services.set_clinic import set_clinic
from homeprog.storage import caseloads, courses, enrolments, patients
from homeprog.storage.models import (
    Audit,
    Contact,
    Identifier,
    Patient,
    Staff,
    WakingHours,
    ZoneStay,
)
from tests import cast
from tests.conftest import NOW

LATER = NOW + timedelta(hours=1)
BORN, OPERATED = date(1968, 3, 4), date(2026, 5, 28)
BEGUN = ClerksPart("Grace Obi", BORN, OPERATED)
WHOLE = ClerksPart(
    "Grace Obi", BORN, OPERATED, number="SH 40217", side="left", tel="07700 900123",
    best_times="after 16:00", language="en", carer_name="Tom Obi", carer_tel="07700 900124",
    consent="signed form",
)  # fmt: skip


@pytest.fixture
def clerk(db: Session) -> Staff:
    return cast.staff(db, cast.clinic(db, NOW), NOW, "enroller", None, "Carl Frey")


def test_a_patient_gets_the_clinics_zone_and_waking_hours(db: Session, clerk: Staff) -> None:
    by = cast.acting(clerk, None)
    set_clinic(db, by, {"waking": {"wake": "06:30", "sleep": "23:00"}}, NOW)
    course = enrol_patient(db, by, BEGUN, NOW)
    stay = db.scalars(select(ZoneStay).where(ZoneStay.patient_id == course.patient_id)).one()
    assert (stay.zone, stay.starts) == ("Europe/London", NOW)
    week = db.scalars(select(WakingHours).where(WakingHours.patient_id == course.patient_id)).all()
    assert {(w.weekday, w.wake, w.sleep) for w in week} == {
        (d, time(6, 30), time(23)) for d in range(7)
    }


def test_whoever_is_enrolled_is_in_the_caseload_at_once(db: Session, clerk: Staff) -> None:
    by = cast.acting(clerk, None)
    first = enrol_patient(db, by, BEGUN, NOW)
    other_hand = open_course(db, by, first.patient_id, OPERATED, "right", NOW)
    shown = caseloads.page(db, clerk.clinic_id, 1, NOW)
    assert {line.course.id for line in shown.lines} == {first.id, other_hand.id}


def test_the_clerks_part_begun_and_resumed_is_the_same_as_in_one_go(
    db: Session, clerk: Staff
) -> None:
    by = cast.acting(clerk, None)
    course = enrol_patient(db, by, BEGUN, NOW)
    assert "telephone" in enrolments.missing(db, course, NOW).clerk
    complete_enrolment(db, by, course.id, WHOLE, LATER)
    assert enrolments.missing(db, course, LATER).clerk == ("a phone paired",)
    assert courses.facts_in_force(db, course, LATER)["side"] == "left"
    assert patients.contacts(db, course.patient_id, LATER)["carer"].name == "Tom Obi"
    assert patients.contacts(db, course.patient_id, NOW) == {}


def test_resuming_without_a_change_writes_nothing_twice(db: Session, clerk: Staff) -> None:
    by = cast.acting(clerk, None)
    course = enrol_patient(db, by, WHOLE, NOW)
    complete_enrolment(db, by, course.id, WHOLE, LATER)
    assert len(db.scalars(select(Contact)).all()) == 2
    assert len(db.scalars(select(Identifier)).all()) == 1
    acts = db.scalars(select(Audit.act)).all()
    assert "particulars_corrected" not in acts


def test_a_corrected_birth_date_stands_in_the_audit_by_id_alone(db: Session, clerk: Staff) -> None:
    by = cast.acting(clerk, None)
    course = enrol_patient(db, by, WHOLE, NOW)
    mended = ClerksPart("Grace Obi", date(1969, 3, 4), OPERATED)
    complete_enrolment(db, by, course.id, mended, LATER)
    kept = db.scalars(select(Audit).where(Audit.act == "particulars_corrected")).one()
    assert (kept.thing, kept.thing_id, kept.who_id) == ("patient", course.patient_id, clerk.id)
    assert patients.number_of(db, course.patient_id) == "SH 40217"


@pytest.mark.parametrize(
    ("part", "field"),
    [
        (ClerksPart(" ", BORN, OPERATED), "name"),
        (ClerksPart("Grace Obi", date(2026, 6, 6), OPERATED), "born"),
        (ClerksPart("Grace Obi", date(1868, 3, 4), OPERATED), "born"),
        (ClerksPart("Grace Obi", BORN, date(2026, 6, 6)), "operation_date"),
        (ClerksPart("Grace Obi", BORN, date(2025, 6, 4)), "operation_date"),
        (ClerksPart("Grace Obi", BORN, OPERATED, side="both"), "side"),
        (ClerksPart("Grace Obi", BORN, OPERATED, carer_name="Tom"), "carer_tel"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_field(
    db: Session, clerk: Staff, part: ClerksPart, field: str
) -> None:
    with pytest.raises(Invalid) as wrong:
        enrol_patient(db, cast.acting(clerk, None), part, NOW)
    assert field in wrong.value.fields
    assert db.scalars(select(Patient)).all() == []


def test_an_operation_exactly_365_days_ago_needs_no_reason(db: Session, clerk: Staff) -> None:
    part = ClerksPart("Grace Obi", BORN, date(2025, 6, 5))
    assert enrol_patient(db, cast.acting(clerk, None), part, NOW).day_zero == date(2025, 6, 5)


@pytest.mark.parametrize(
    ("name", "born", "number", "alike"),
    [
        ("Grace Obi", BORN, "", True),
        ("OBI  grace", BORN, "", True),
        ("Gráce Obi", BORN, "", True),
        ("Grace Oby", BORN, "", True),
        ("Grace Obi", date(1968, 3, 5), "", False),
        ("Peter Lang", BORN, "", False),
        ("Peter Lang", date(1990, 1, 1), "sh-40217", True),
    ],
)
def test_the_same_number_or_birth_date_and_a_similar_name_may_be_one_person(
    db: Session, clerk: Staff, name: str, born: date, number: str, alike: bool
) -> None:
    by = cast.acting(clerk, None)
    first = enrol_patient(db, by, WHOLE, NOW)
    part = ClerksPart(name, born, OPERATED, number=number)
    if not alike:
        enrol_patient(db, by, part, LATER)
        return
    with pytest.raises(MaybeKnown) as known:
        enrol_patient(db, by, part, LATER)
    assert [p.id for p in known.value.people] == [first.patient_id]
    enrol_patient(db, by, part, LATER, another_person=True)


def test_both_hands_are_two_courses_and_a_second_operation_follows_a_closed_one(
    db: Session, clerk: Staff
) -> None:
    by = cast.acting(clerk, None)
    first = enrol_patient(db, by, WHOLE, NOW)
    other = open_course(db, by, first.patient_id, OPERATED, "right", LATER)
    assert courses.open_courses_of(db, first.patient_id) == [first, other]
    with pytest.raises(Conflict):
        open_course(db, by, first.patient_id, OPERATED, "left", LATER, previous_id=first.id)


def test_another_patients_course_cannot_be_the_one_before(db: Session, clerk: Staff) -> None:
    by = cast.acting(clerk, None)
    first = enrol_patient(db, by, WHOLE, NOW)
    other = enrol_patient(db, by, ClerksPart("Peter Lang", BORN, OPERATED), NOW)
    with pytest.raises(Invalid):
        open_course(db, by, first.patient_id, OPERATED, "left", LATER, previous_id=other.id)
