"""Trouble in the plan: each course's own list and texts, and who has seen a report."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.phone_plan import phone_plan, plan_version
from homeprog.services.settle_alert import settle_alert
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.models import Alert, ClinicSetting, Course, Device, Staff
from tests import cast as people
from tests.upload_cast import codes, item, send, trouble

NOW = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # a Friday


@pytest.fixture
def anna(db: Session) -> Staff:
    made = people.staff(db, people.clinic(db, NOW), NOW)
    people.signed(db, made, NOW)
    return made


@pytest.fixture
def course(db: Session, anna: Staff) -> Course:
    return people.enrolled(db, anna, NOW, worn="plaster")


@pytest.fixture
def device(db: Session, course: Course) -> Device:
    made = people.phone(db, course, NOW)
    db.commit()
    return made


def plan_of(db: Session, device: Device, now: datetime = NOW) -> dict:
    return phone_plan(db, device, now)


def report(
    db: Session, course: Course, device: Device, now: datetime, kind: str = "wound"
) -> Alert:
    raw = trouble(course, now, kind)
    send(db, device, [raw], now)
    return db.scalars(
        select(Alert).where(Alert.kind == "trouble").order_by(Alert.at.desc())
    ).first()


def test_each_course_has_the_kinds_and_texts_of_what_is_worn_in_it(db, anna, course, device):
    other = people.enrolled(db, anna, NOW + timedelta(minutes=1), number="SH 2", worn="sling")
    other.patient_id = course.patient_id
    db.commit()
    plan = plan_of(db, device, NOW + timedelta(minutes=2))
    plaster, sling = plan["courses"]
    texts = [{each["kind"]: each["text"] for each in one["troubles"]} for one in (plaster, sling)]
    assert texts[0]["white_blue_cold"] == "trouble.white_blue_cold.plaster"
    assert texts[1]["white_blue_cold"] == "trouble.white_blue_cold.sling"
    assert "band_no_longer_lifts" not in texts[0]
    assert "band_no_longer_lifts" in texts[1]
    assert {text for one in texts for text in one.values()} <= set(plan["texts"])
    assert [each["kind"] for each in sling["troubles"]][:2] == ["white_blue_cold", "severe_pain"]


def test_a_report_taken_up_by_a_clinician_says_who_when_and_by_when_to_ring(
    db, anna, course, device
):
    alert = report(db, course, device, NOW)
    assert plan_of(db, device)["courses"][0]["seen"] == []
    before = plan_version(db, course.patient_id, NOW)
    up = NOW + timedelta(hours=1)
    take_up_alert(db, people.acting(anna), alert.id, up)
    db.commit()
    assert plan_version(db, course.patient_id, up) != before
    assert plan_of(db, device, up)["courses"][0]["seen"] == [
        {
            "report": str(alert.trouble_id), "kind": "wound", "by": "Anna Berg, hand therapist",
            "at": "2026-06-05T14:10:00Z", "ring_by": "2026-06-05T15:10:00Z",
        }
    ]  # fmt: skip


def test_it_is_told_no_more_once_settled(db, anna, course, device):
    alert = report(db, course, device, NOW)
    by, later = people.acting(anna), NOW + timedelta(hours=1)
    take_up_alert(db, by, alert.id, later)
    up = plan_version(db, course.patient_id, later)
    settle_alert(db, by, alert.id, "rang", "goes on", later + timedelta(minutes=5), None)
    db.commit()
    after = later + timedelta(minutes=6)
    assert plan_of(db, device, after)["courses"][0]["seen"] == []
    assert plan_version(db, course.patient_id, after) != up


def test_seen_by_somebody_who_is_no_clinician_is_not_told(db, anna, course, device):
    alert = report(db, course, device, NOW)
    boss = people.staff(db, people.workplace(db, anna), NOW, "manager", None, "Rosa Lind")
    take_up_alert(db, people.acting(boss, None), alert.id, NOW)
    db.commit()
    assert plan_of(db, device)["courses"][0]["seen"] == []


def test_the_newest_taken_up_comes_first(db, anna, course, device):
    by = people.acting(anna)
    one, two = (
        report(db, course, device, NOW),
        report(db, course, device, NOW + timedelta(minutes=1), "fever"),
    )
    take_up_alert(db, by, two.id, NOW + timedelta(minutes=2))
    take_up_alert(db, by, one.id, NOW + timedelta(minutes=3))
    db.commit()
    seen = plan_of(db, device, NOW + timedelta(minutes=4))["courses"][0]["seen"]
    assert [each["kind"] for each in seen] == ["wound", "fever"]


def test_a_report_is_taken_back_within_the_clinics_minutes(db, anna, course, device):
    db.add(
        ClinicSetting(
            at=NOW, clinic_id=anna.clinic_id, key="take_back_minutes", value={"is": 4},
            valid_from=NOW,
        )
    )  # fmt: skip
    db.commit()
    first, second = trouble(course, NOW, "wound"), trouble(course, NOW, "fever")
    send(db, device, [first, second], NOW)
    four = NOW + timedelta(minutes=4)
    back = item("taken_back", course, four, trouble=first["id"])
    late = item("taken_back", course, four + timedelta(seconds=1), trouble=second["id"])
    assert codes(send(db, device, [back, late], four + timedelta(seconds=1))) == [
        None, "not_taken_back",
    ]  # fmt: skip
