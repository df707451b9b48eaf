"""What the invented staff do: set the clinic up, enrol, confirm, release, answer an alert."""

from __future__ import annotations

import copy
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.alert import CAN_ACCEPT
from homeprog.domain.clock import to_utc
from homeprog.domain.regime import Reason
from homeprog.services.actor import Actor
from homeprog.services.add_clinic import add_clinic
from homeprog.services.add_staff import add_staff
from homeprog.services.adopt_template import adopt_template, approve_template
from homeprog.services.check_facts import RepairEntry
from homeprog.services.close_course import close_course
from homeprog.services.confirm_course import confirm_course
from homeprog.services.correct_fact import correct_facts
from homeprog.services.enrol_patient import ClerksPart, enrol_patient, open_course
from homeprog.services.plan_visit import plan_visit
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_clinic import set_clinic
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.services.settle_alert import settle_alert
from homeprog.services.sign_text import sign_text
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.models import Alert, Clinic, Course, Device, Template

from .behaviour import REOPERATED_ON
from .people import (
    ACTIVE,
    CLINIC,
    CLOSED,
    DYNAMIC,
    ENDS,
    FINISHED,
    SETTINGS,
    STAFF,
    STATIC,
    ZONE,
    Kind,
    Person,
)

FRIDAY = 4
LEFT_ALONE = timedelta(days=14)  # what was settled before is told again then
ENDINGS: dict[Kind, tuple[int, str]] = {
    "reoperated": (REOPERATED_ON, "new_operation"),
    "never_starts": (21, "lost_to_follow_up"),
    "puts_it_down": (35, "withdrew"),
}  # course day of the closing, and why
DONE = {"few_logged": "talked_through", "trouble": "called_in", "excess": "talked_through"}


@dataclass(frozen=True)
class Team:
    """The clinic and who acts in it, by sign-in; `passwords` are shown once."""

    clinic: Clinic
    actors: dict[str, Actor]
    passwords: dict[str, str]


@dataclass(frozen=True)
class Act:
    """Something staff do at an instant."""

    at: datetime
    do: Callable[[Session, datetime], None]


def set_up_clinic(db: Session, now: datetime) -> Team:
    """The clinic, its staff, texts, and three of four templates approved; one waits."""
    clinic = add_clinic(db, CLINIC, ZONE, now, demo=True)
    actors, passwords = {}, {}
    for member in STAFF:
        row, password = add_staff(
            db, clinic, member.name, member.role, member.profession, now,
            must_change=False, sign_in=member.sign_in,
        )  # fmt: skip
        actors[member.sign_in] = Actor(clinic.id, "staff", row.id, member.role, member.profession)
        passwords[member.sign_in] = password
    set_clinic(db, actors["ruth"], SETTINGS, now)
    sign_text(db, actors["salma"], None, now)
    for key in (DYNAMIC, ACTIVE, STATIC):
        template = adopt_template(db, actors["tomas"], key, now)
        approve_template(db, actors["salma"], template.id, now)
    return Team(clinic, actors, passwords)


def enrol(db: Session, team: Team, person: Person, operated: date, now: datetime) -> Course:
    """The clerk's part, at discharge."""
    part = ClerksPart(
        name=person.name, born=person.born, operation_date=operated, number=person.number,
        side=person.side, tel=person.tel, best_times="after 17:00", consent="signed form",
    )  # fmt: skip
    return enrol_patient(db, team.actors["mira"], part, now, another_person=True)


def enrol_again(
    db: Session, team: Team, person: Person, operated: date, before: Course, now: datetime
) -> Course:
    """A second operation: a course of its own, linked to the one before."""
    return open_course(
        db, team.actors["mira"], before.patient_id, operated, person.side, now, before.id
    )


def invented_phone(db: Session, course: Course, receipts: bool, now: datetime) -> Device:
    """An invented phone: the recorder serves it, nothing leaves the house.

    `receipts`: it takes reminders and says what it has shown; the others have turned them off.
    """
    device = Device(
        clinic_id=course.clinic_id, at=now, patient_id=course.patient_id, whose="patient",
        token_hash=uuid.uuid4().bytes, name="invented phone", invented=True,
        push_state="granted" if receipts else "denied", receipt_proven=receipts,
        reminding="push" if receipts else "in_app",
    )  # fmt: skip
    db.add(device)
    db.flush()
    return device


def fit_splint(db: Session, team: Team, person: Person, course: Course, now: datetime) -> None:
    """The clinician's part: facts, repairs, regime, confirmation."""
    tomas = team.actors["tomas"]
    facts = {
        "handedness": "right", "worn": person.worn, "with_it": [], "age_group": "adult",
        "follows_plan": "alone", "weakens": [], "therapist": str(tomas.id),
        "surgeon": "Salma Haddow",
    }  # fmt: skip
    repairs = [RepairEntry(person.structure, person.zone, person.digit)]
    repairs += [RepairEntry(what, zone, digit) for digit, what, zone in person.repairs]
    correct_facts(db, tomas, course.id, facts, now, repairs=repairs)
    template = db.scalars(
        select(Template).where(
            Template.clinic_id == course.clinic_id, Template.key == person.template
        )
    ).one()
    set_regime(db, tomas, course.id, wanted(person, template), now)
    confirm_course(db, tomas, course.id, "operation_note", "the operation note", now)
    if person.next_visit is not None:
        plan_visit(db, tomas, course.id, ENDS.date() + timedelta(days=person.next_visit), now)


def wanted(person: Person, template: Template) -> Wanted:
    """The template as it stands, with the surgeon's day for the slab where it has none."""
    body = copy.deepcopy(template.body)
    for phase in body["phases"]:
        if phase["earliest_day"] is None:
            phase["earliest_day"] = person.removal_day
    said = Reason("Strong repair, clean wound: slab off then.", "Salma Haddow", "spoken")
    reasons = {"removal_day": said} if person.removal_day else {}
    return Wanted(template.id, body, "As the template.", reasons)


def release(db: Session, team: Team, course: Course, phase: str, now: datetime) -> None:
    signed = Signed(phase, splint_fitted=True, hand_examined=True)
    release_phase(db, team.actors["tomas"], course.id, signed, now)


def settle_open(db: Session, team: Team, person: Person, course: Course, now: datetime) -> None:
    """Take up and settle what is open for a course; a stop is resumed with a reason."""
    rows = db.scalars(
        select(Alert).where(Alert.course_id == course.id, Alert.state == "open")
    ).all()
    for alert in rows:
        take_up_alert(db, team.actors["tomas"], alert.id, now)
        _settle(db, team, person, alert, now)


def _settle(db: Session, team: Team, person: Person, alert: Alert, now: datetime) -> None:
    """The first of a kind is talked through; a second is left at its level for a while."""
    again = db.scalar(
        select(Alert.id).where(
            Alert.course_id == alert.course_id, Alert.kind == alert.kind, Alert.state == "settled"
        )
    )
    resumes = alert.trouble_id is not None and person.kind != "reoperated"
    settle_alert(
        db, team.actors["tomas"], alert.id, DONE.get(alert.kind, "rang"),
        "Rang and talked it through.", now,
        not_again_before=now.date() + LEFT_ALONE if again else None,
        resume_reason="Examined: the finger lifts as before." if resumes else None,
        false_alarm=person.kind == "steady" and alert.trouble_id is None,
        accept=bool(again) and alert.kind in CAN_ACCEPT,
    )  # fmt: skip


def workday(day: date) -> date:
    """That day, or the first after it on which the clinic is open."""
    while day.weekday() > FRIDAY or day in CLOSED:
        day += timedelta(days=1)
    return day


def days_of(team: Team, person: Person, course: Callable[[], Course], operated: date) -> list[Act]:
    """The staff's dates with one patient: fitting two days after, each release, the closing."""

    def act(day: int, at: time, do: Callable[[Session, datetime], None]) -> Act:
        return Act(to_utc(workday(operated + timedelta(days=day)), at, ZONE), do)

    def sign(phase: str) -> Callable[[Session, datetime], None]:
        return lambda db, now: release(db, team, course(), phase, now)

    ends, why = ENDINGS.get(person.kind, (FINISHED, "completed"))
    acts = [act(2, time(10), lambda db, now: fit_splint(db, team, person, course(), now))]
    acts += [act(day, time(10, 30), sign(phase)) for phase, day in person.releases if day < ends]
    acts.append(act(ends, time(11), lambda db, now: close(db, team, course(), why, now)))
    return [each for each in acts if each.at < ENDS]


def close(db: Session, team: Team, course: Course, why: str, now: datetime) -> None:
    close_course(db, team.actors["tomas"], course.id, why, "", now)
