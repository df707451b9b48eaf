"""'All well?': the phone tells that it asked, and what was answered."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.models import Course, Device, PhoneItem

from .. import cast
from ..regime_cast import on_regime
from ..upload_cast import Raw, codes, item, results, send

NOW = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # a Friday
LATER = NOW + timedelta(minutes=20)


@pytest.fixture
def patient(db: Session) -> tuple[Course, Device]:
    course = on_regime(db, NOW).course
    device = cast.phone(db, course, NOW)
    db.commit()
    return course, device


def asking(course: Course) -> Raw:
    raw = item("all_well", course, NOW) | {"answer": None, "pain": None}
    return raw | {"asked": raw["id"]}


def answer(course: Course, asked: Raw, **told: Any) -> Raw:
    return item("all_well", course, LATER) | {"asked": asked["id"], "pain": None} | told


def test_the_asking_and_its_answer_are_kept_each_once(
    db: Session, patient: tuple[Course, Device]
) -> None:
    course, device = patient
    asked = asking(course)
    sore = answer(course, asked, answer="sore", pain=4)
    assert results(send(db, device, [asked, sore], LATER)) == ["stored", "stored"]
    assert results(send(db, device, [asked, sore], LATER)) == ["already", "already"]
    rows = db.scalars(select(PhoneItem).order_by(PhoneItem.entered_at)).all()
    assert [(row.type, row.body["answer"], row.body["pain"]) for row in rows] == [
        ("all_well", None, None), ("all_well", "sore", 4),
    ]  # fmt: skip
    assert {row.body["asked"] for row in rows} == {asked["id"]}


@pytest.mark.parametrize(
    "fault",
    [{"answer": "fine"}, {"answer": None}, {"asked": "that"}, {"answer": "sore", "pain": 11}],
)
def test_an_answer_that_cannot_be_meant_is_refused(
    db: Session, patient: tuple[Course, Device], fault: Raw
) -> None:
    course, device = patient
    raw = answer(course, asking(course), answer="busy") | fault
    assert codes(send(db, device, [raw], LATER)) == ["invalid"]


def test_an_asking_that_names_another_is_refused(
    db: Session, patient: tuple[Course, Device]
) -> None:
    course, device = patient
    raw = asking(course) | {"asked": str(uuid.uuid4())}
    assert codes(send(db, device, [raw], NOW)) == ["invalid"]
