"""A clinic for the browser, set up by the services alone: staff, numbers, texts, a patient."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.actor import Actor
from homeprog.services.add_clinic import add_clinic
from homeprog.services.add_staff import add_staff
from homeprog.services.adopt_template import adopt_template, approve_template
from homeprog.services.pair_phone import create_pairing
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_clinic import of_clinic, set_clinic
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.services.sign_text import sign_text
from homeprog.storage.models import Clinic, Course, Staff, Template
from tests.cast import PASSWORD, confirmed, phone
from tests.regime_cast import DYNAMIC
from tests.upload_cast import bout, send, trouble

FRIDAY = datetime(2026, 6, 5, 13, 10, tzinfo=UTC)  # 14:10 in the clinic's zone
ZONE = "Europe/London"
TEL = "020 7946 0101"
NIGHT = {"from": "17:00", "to": "08:00"}


@dataclass(frozen=True)
class Member:
    """One of the staff, as who signs in and as who acts."""

    sign_in: str
    name: str
    actor: Actor


@dataclass(frozen=True)
class House:
    clinic_id: uuid.UUID
    enroller: Member
    therapist: Member
    surgeon: Member


def furnish(db: Session, now: datetime) -> House:
    """A demo clinic that may pair phones: no template is adopted yet. All sign in with PASSWORD."""
    clinic = add_clinic(db, "Harbour Hand Unit", ZONE, now, demo=True)
    enroller = _member(db, clinic, "Mira Okonjo", "enroller", None, now)
    therapist = _member(db, clinic, "Anna Berg", "therapist", "hand_therapist", now)
    surgeon = _member(db, clinic, "Salma Haddow", "therapist", "surgeon", now)
    set_clinic(db, of_clinic(clinic), _hours(therapist.sign_in), now)
    sign_text(db, surgeon.actor, None, now)
    return House(clinic.id, enroller, therapist, surgeon)


def _member(
    db: Session, clinic: Clinic, name: str, role: str, profession: str | None, now: datetime
) -> Member:
    who, _ = add_staff(
        db, clinic, name, role, profession, now, password=PASSWORD, must_change=False
    )
    return Member(who.sign_in, name, _acting(who, role, profession))


def _acting(who: Staff, role: str, profession: str | None) -> Actor:
    actor = Actor(who.clinic_id, "staff", who.id, None, profession)
    return replace(actor, role=role)  # type: ignore[arg-type]


def _hours(on_duty: str) -> dict[str, object]:
    open_hours = {"days": "Monday to Friday", "from": "08:00", "to": "17:00"}
    ward = {"label": "Ring the ward", "tel": "020 7946 0199"}
    return {
        "numbers": [
            {"label": "Ring the hand unit", "tel": TEL, **open_hours},
            {**ward, "days": ["Monday", "Tuesday", "Wednesday", "Thursday"], **NIGHT},
            {**ward, "days": ["Friday"], "from": "17:00", "to": "24:00"},
            {**ward, "days": ["Saturday", "Sunday"], "from": "00:00", "to": "24:00"},
            {**ward, "days": ["Monday"], "from": "00:00", "to": "08:00"},
        ],
        "emergency": {"label": "Ambulance", "tel": "999"},
        "hours": [open_hours],
        "duty": [{**open_hours, "who": on_duty}],
    }


def on_dynamic(
    db: Session, house: House, now: datetime, stage: str = "dynamic", **given: Any
) -> Course:
    """A confirmed patient, hand read back, released to ten bends every hour from 7 to 22.

    `stage`: 'static' for one who is still to be released to it.
    """
    staff = db.get_one(Staff, house.therapist.actor.id)
    template = _template(db, house, now)
    course = confirmed(db, staff, now, **given)
    wanted = Wanted(template.id, template.body, "as the template")
    set_regime(db, house.therapist.actor, course.id, wanted, now)
    signed = Signed(stage, splint_fitted=True, hand_examined=True)
    release_phase(db, house.therapist.actor, course.id, signed, now)
    return course


def _template(db: Session, house: House, now: datetime) -> Template:
    """The clinic's approved template: adopted by one clinician, approved by the other, once."""
    there = db.scalars(select(Template).where(Template.clinic_id == house.clinic_id)).first()
    if there:
        return there
    template = adopt_template(db, house.therapist.actor, DYNAMIC, now)
    approve_template(db, house.surgeon.actor, template.id, now)
    return template


def two_days_at_home(db: Session, house: House, now: datetime) -> Course:
    """A course of two days with gaps, pain, an entry made later, a daily check and a snap."""
    course = on_dynamic(db, house, now - timedelta(days=2), name="Ivo Marsh", number="SH 40311")
    device = phone(db, course, now - timedelta(days=2))
    db.commit()
    for hours in range(47, 0, -1):
        at = now - timedelta(hours=hours)
        if 7 < at.hour < 20 and hours % 5:
            send(db, device, [bout(course, at, pain=hours % 4)], at)
    send(db, device, [trouble(course, now, "snap")], now)
    return course


def pairing_link(db: Session, house: House, course: Course, origin: str, now: datetime) -> str:
    """A fresh link for the patient's phone; it is good for ten real minutes."""
    real_now = datetime.now(UTC)
    invitation = create_pairing(db, house.therapist.actor, course.patient_id, real_now, now)
    return invitation.link(origin)
