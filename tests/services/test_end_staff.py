"""Somebody leaves, or changes place: what ends at once, and whom things fall to."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid
from homeprog.services.actor import Actor
from homeprog.services.change_staff import change_staff
from homeprog.services.end_staff import end_staff, said
from homeprog.services.open_alert import open_alert
from homeprog.services.refresh_line import refresh_line
from homeprog.services.sign_in import sign_in, signed_in
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage import caseloads, clinics, staff
from homeprog.storage.alerts import events_of
from homeprog.storage.models import Alert, Clinic, Course, Staff
from homeprog.storage.reach import reach
from homeprog.storage.troubles import taken_up
from tests import cast
from tests.conftest import NOW

LATER = NOW + timedelta(minutes=5)
SNAP = {"trouble": "snap", "stop": True, "entered_at": NOW.isoformat()}


@dataclass(frozen=True)
class House:
    clinic: Clinic
    head: Actor
    anna: Staff
    bea: Staff
    course: Course
    alert: Alert


@pytest.fixture
def house(db: Session) -> House:
    """Anna, on duty, has taken up a report of her patient's; Bea and a manager work there too."""
    where = cast.clinic(db, NOW)
    head = cast.staff(db, where, NOW, "manager", None, "Ruth Head")
    anna = cast.staff(db, where, NOW)
    bea = cast.staff(db, where, NOW, name="Bea Lund")
    cast.on_duty(db, anna, NOW)
    course = cast.confirmed(db, anna, NOW)
    refresh_line(db, course, NOW)
    alert = open_alert(db, course, "trouble", "now", SNAP, NOW)
    assert alert is not None
    take_up_alert(db, cast.acting(anna), alert.id, NOW)
    return House(where, cast.acting(head, None), anna, bea, course, alert)


def test_who_leaves_is_signed_out_at_once_and_cannot_sign_in(db: Session, house: House) -> None:
    _, token = sign_in(db, house.anna.sign_in, cast.PASSWORD, NOW)
    assert signed_in(db, token, NOW) is not None
    end_staff(db, house.head, house.anna.id, LATER, LATER)
    assert signed_in(db, token, LATER) is None
    with pytest.raises(Invalid):
        sign_in(db, house.anna.sign_in, cast.PASSWORD, LATER)
    assert staff.profession(db, house.anna.id, LATER) is None
    assert staff.profession(db, house.anna.id, NOW) == "hand_therapist"  # the past stays


def test_what_was_taken_up_is_open_again_and_falls_to_a_person_by_name(
    db: Session, house: House
) -> None:
    told = end_staff(db, house.head, house.anna.id, LATER, LATER)
    db.refresh(house.alert)
    assert house.alert.state == "open"
    assert [each.to for each in told.alerts] == [("Ruth Head",)]  # no list, nobody on duty
    assert "Open again: trouble. Falls to Ruth Head." in said(told)
    assert taken_up(db, house.course.id, LATER) == []  # the phone no longer says 'Seen by'


def test_an_alert_handed_back_and_taken_up_again_stands_once_with_the_new_name(
    db: Session, house: House
) -> None:
    end_staff(db, house.head, house.anna.id, LATER, LATER)
    take_up_alert(db, cast.acting(house.bea), house.alert.id, LATER)
    (line,) = caseloads.page(db, house.clinic.id, 1, LATER).lines
    assert [each.taken_by for each in line.alerts] == ["Bea Lund"]


def test_their_duty_hours_become_nobody_hours_and_their_patients_are_counted(
    db: Session, house: House
) -> None:
    assert clinics.duty_now(db, house.clinic.id, NOW) == [house.anna.id]
    told = end_staff(db, house.head, house.anna.id, LATER, LATER)
    assert clinics.duty_now(db, house.clinic.id, LATER) == []
    assert told.courses == 1
    lines = said(told)
    assert "1 patient needs another responsible therapist." in lines
    assert sum(line.startswith("Nobody is on duty for trouble now:") for line in lines) == 5


def test_the_last_manager_stays_and_nobody_leaves_twice(db: Session, house: House) -> None:
    assert house.head.id is not None
    with pytest.raises(Conflict):
        end_staff(db, house.head, house.head.id, LATER, LATER)
    with pytest.raises(Conflict):
        change_staff(db, house.head, house.head.id, "enroller", None, LATER, LATER)
    end_staff(db, house.head, house.bea.id, LATER, LATER)
    with pytest.raises(Conflict):
        end_staff(db, house.head, house.bea.id, LATER, LATER)


def test_only_a_manager_ends_or_changes_anybody(db: Session, house: House) -> None:
    for act in (
        lambda: end_staff(db, cast.acting(house.anna), house.bea.id, LATER, LATER),
        lambda: change_staff(
            db, cast.acting(house.anna), house.bea.id, "manager", None, LATER, LATER
        ),
    ):
        with pytest.raises(Forbidden):
            act()


def test_a_change_of_place_ends_sign_ins_and_holds_from_now_on(db: Session, house: House) -> None:
    _, token = sign_in(db, house.bea.sign_in, cast.PASSWORD, NOW)
    change_staff(db, house.head, house.bea.id, "therapist", "surgeon", LATER, LATER)
    assert signed_in(db, token, LATER) is None
    assert staff.profession(db, house.bea.id, LATER) == "surgeon"
    assert staff.profession(db, house.bea.id, NOW) == "hand_therapist"
    change_staff(db, house.head, house.bea.id, "manager", None, LATER, LATER)
    assert staff.profession(db, house.bea.id, LATER) is None
    with pytest.raises(Invalid):
        change_staff(db, house.head, house.bea.id, "manager", "surgeon", LATER, LATER)


@pytest.mark.parametrize("role", ["therapist", "enroller"])
def test_trouble_taken_up_by_whoever_is_no_clinician_any_more_is_open_again(
    db: Session, house: House, role: str
) -> None:
    change_staff(db, house.head, house.anna.id, role, None, LATER, LATER)
    db.refresh(house.alert)
    assert house.alert.state == "open"
    last = events_of(db, [house.alert.id])[house.alert.id][-1]
    assert (last.what, last.by_id) == ("handed_back", None)
    assert (last.words or "").startswith(f"{house.anna.name} no longer sees to this. ")


def test_other_alerts_stay_with_a_therapist_and_leave_with_the_role(
    db: Session, house: House
) -> None:
    silent = open_alert(db, house.course, "silence", "today", {}, NOW)
    assert silent is not None
    take_up_alert(db, cast.acting(house.anna), silent.id, NOW)
    change_staff(db, house.head, house.anna.id, "therapist", None, LATER, LATER)
    db.refresh(silent)
    assert silent.state == "taken_up"
    change_staff(db, house.head, house.anna.id, "enroller", None, LATER, LATER)
    db.refresh(silent)
    assert silent.state == "open"


def test_duty_hours_of_whoever_may_not_take_up_alerts_become_nobody_hours(
    db: Session, house: House
) -> None:
    change_staff(db, house.head, house.anna.id, "enroller", None, LATER, LATER)
    assert clinics.duty_now(db, house.clinic.id, LATER) == []
    zone = house.clinic.zone
    assert reach(db, house.clinic.id, zone, LATER, ()).on_duty == ()
    change_staff(db, house.head, house.anna.id, "enroller", "nurse", LATER, LATER)
    assert clinics.duty_now(db, house.clinic.id, LATER) == [house.anna.id]
    assert [each.name for each in reach(db, house.clinic.id, zone, LATER, ()).on_duty] == [
        house.anna.name
    ]


def test_another_profession_hands_nothing_back(db: Session, house: House) -> None:
    change_staff(db, house.head, house.anna.id, "therapist", "surgeon", LATER, LATER)
    db.refresh(house.alert)
    assert house.alert.state == "taken_up"


def test_a_stranger_to_the_clinic_is_nobody(db: Session, house: House) -> None:
    other = cast.staff(db, cast.clinic(db, NOW, "Hill Hand Unit"), NOW, "manager", None, "Jon Hall")
    for who in (house.anna.id, uuid.uuid4()):
        with pytest.raises(Exception, match="staff"):
            end_staff(db, cast.acting(other, None), who, LATER, LATER)
