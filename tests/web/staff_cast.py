"""A signed-in staff member's browser, and a course that has logs behind it."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Flask, g
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from homeprog.domain.credit import DEFAULT_RULES
from homeprog.domain.timetable import Slot, lay_out
from homeprog.extensions import db as extension
from homeprog.services.assess_course import assess_whole_course
from homeprog.services.refresh_line import refresh_line
from homeprog.storage.models import BoutRow, ContactMarkRow, Course, Device, Staff
from homeprog.storage.timelines import settings_of
from tests.cast import PASSWORD


def now() -> datetime:
    """The app reads real time: what its pages show is laid out from here."""
    return datetime.now(UTC).replace(microsecond=0)


class Browser(FlaskClient):
    """A client whose requests each begin anew, though a test holds one app context over all.

    What a test has written must be committed before.
    """

    def open(self, *args: Any, **kwargs: Any) -> Any:
        extension.session.rollback()
        g.pop("_login_user", None)
        return super().open(*args, **kwargs)


def browser(app: Flask, who: Staff) -> FlaskClient:
    """A client signed in by the form, as staff are; what the test has written is committed."""
    app.config["WTF_CSRF_ENABLED"] = False
    extension.session.commit()
    client = Browser(app)
    answer = client.post("/sign-in", data={"name": who.sign_in, "password": PASSWORD})
    assert answer.status_code == 303, answer.text
    return client


def logged(course: Course, phone: Device, slot: Slot, **more: Any) -> BoutRow:
    """A bout done and sent 5 min into a slot."""
    done = slot.start + timedelta(minutes=5)
    given = {
        "id": uuid.uuid4(), "at": done, "clinic_id": course.clinic_id, "course_id": course.id,
        "exercise": slot.exercise, "amount": slot.dose.amount, "unit": slot.dose.unit,
        "how": "counted", "pain": 3, "pain_asked": True, "done_at": done, "entered_at": done,
        "device_entered_at": done, "offset_ms": 0, "zone": slot_zone(), "device_id": phone.id,
        "logged_by": "patient", "source": "phone", "digest": "d",
    }  # fmt: skip
    return BoutRow(**given | more)


def slot_zone() -> str:
    return "Europe/London"


def past_slots(db: Session, course: Course, at: datetime) -> list[Slot]:
    """The course's slots of exercises with a dose an hour that are past at `at`."""
    slots = lay_out(settings_of(db, course, at), at)
    return [s for s in slots if s.exercise == "bend_to_stop" and DEFAULT_RULES.past(s, at)]


def heard(db: Session, phone: Device, at: datetime) -> None:
    """A word from the phone that it holds nothing back."""
    db.add(
        ContactMarkRow(
            at=at, clinic_id=phone.clinic_id, device_id=phone.id, kind="upload", outbox_empty=True
        )
    )
    db.flush()


def summed_up(db: Session, course: Course, at: datetime) -> None:
    """Day summaries and the caseload line, as the jobs leave them."""
    db.flush()
    assess_whole_course(db, course, at)
    refresh_line(db, course, at)
    db.commit()
