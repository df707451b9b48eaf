"""What the tests of the watch do: let phones speak, log, and let the jobs run tick by tick."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.jobs import run_due
from homeprog.services.actor import Actor
from homeprog.services.assess_course import assess_course
from homeprog.storage.models import (
    Alert,
    ClinicHours,
    ContactMarkRow,
    Course,
    DailyCheck,
    Device,
    PhoneItem,
    Prompt,
    PromptEvent,
    PromptSend,
    Staff,
    TroubleReport,
)
from homeprog.storage.timelines import phase_in_force
from tests import cast, regime_cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at

WED = at(8, day=3)  # 3 June 2026


def word(db: Session, phone: Device, when: datetime, kind: str = "ping") -> None:
    """A word from a phone with nothing waiting on it."""
    db.add(
        ContactMarkRow(
            at=when, clinic_id=phone.clinic_id, device_id=phone.id, kind=kind, outbox_empty=True
        )
    )
    db.flush()


def go(db: Session, since: datetime, until: datetime, minutes: int = 30) -> None:
    """Run the jobs tick by tick over (since, until]."""
    now = since
    while now < until:
        now = min(now + timedelta(minutes=minutes), until)
        run_due(db, now)


def alert(db: Session, kind: str) -> Alert | None:
    """The newest alert of a kind, as the database has it."""
    return db.scalars(
        select(Alert)
        .where(Alert.kind == kind)
        .order_by(Alert.at.desc(), Alert.id)
        .limit(1)
        .execution_options(populate_existing=True)
    ).first()


def alerts(db: Session, kind: str) -> list[Alert]:
    """Every alert of a kind, oldest first."""
    rows = select(Alert).where(Alert.kind == kind).order_by(Alert.at)
    return list(db.scalars(rows.execution_options(populate_existing=True)))


def on_dynamic(db: Session, now: datetime = WED, **given: Any) -> regime_cast.OnRegime:
    """10 times every hour from Wednesday 3 June 8:00 UTC, day 10; awake 6 to 21 UTC."""
    return regime_cast.on_regime(db, now, **given)


def phone_of(db: Session, course: Course, now: datetime = WED) -> Device:
    return cast.phone(db, course, now)


def log(
    db: Session, course: Course, phone: Device | None, when: datetime, amount: int = 10, **more: Any
) -> None:
    """A bout of the leading exercise, received at `when` unless `at` says otherwise."""
    phase = phase_in_force(db, course, when)
    assert phase is not None
    told: dict[str, Any] = {"exercise": phase.leading, "device_id": phone.id if phone else None}
    p.logged(db, course, when, amount, **(told | more))


def log_slots(db: Session, course: Course, phone: Device, day: int, hours: range) -> None:
    """A whole dose at half past each of these hours of June, and a word at the end of the day."""
    for hour in hours:
        log(db, course, phone, at(hour, 30, day))
    word(db, phone, at(22, 30, day))


def late(db: Session, course: Course, phone: Device, since: datetime, now: datetime) -> None:
    """What an upload does with bouts that are in the table by now."""
    word(db, phone, now)
    uploaded(db, course, since, now)


def uploaded(db: Session, course: Course, since: datetime, now: datetime) -> None:
    """The same by a phone that has more to send; and the minute's jobs after it."""
    assess_course(db, course, now, since=since)
    run_due(db, now + timedelta(seconds=30))


def check(
    db: Session, course: Course, day: date, pain: int | None = None, **answers: str
) -> DailyCheck:
    """The daily check of a day, answered at 18:00 UTC; details of a splint off as `details_`."""
    when = datetime(day.year, day.month, day.day, 18, tzinfo=WED.tzinfo)
    row = DailyCheck(
        at=when, clinic_id=course.clinic_id, course_id=course.id, day=day,
        answers=answers, details={}, average_pain=pain, entered_at=when, digest="x",
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def report(db: Session, course: Course, kind: str, when: datetime, **details: Any) -> TroubleReport:
    """A report that is no stop flag and no alert by itself."""
    row = TroubleReport(
        at=when, clinic_id=course.clinic_id, course_id=course.id, kind=kind, stop=False,
        details=details, entered_at=when, digest="x",
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def all_well(db: Session, course: Course, phone: Device, when: datetime, answer: str) -> None:
    """An answer to 'All well?'."""
    db.add(
        PhoneItem(
            at=when, clinic_id=course.clinic_id, device_id=phone.id, course_id=course.id,
            type="all_well", body={"asked": str(uuid.uuid4()), "answer": answer},
            entered_at=when, digest="x",
        )
    )  # fmt: skip
    db.flush()


def clinician_of(db: Session, course: Course) -> Actor:
    """A clinician of the course's clinic."""
    who = db.scalars(select(Staff).where(Staff.clinic_id == course.clinic_id)).first()
    assert who is not None
    return Actor(course.clinic_id, "staff", who.id, "therapist", "hand_therapist")


def texts_signed(db: Session, course: Course) -> None:
    """Every text a phone needs is signed: without them no stage is released to it."""
    who = db.scalars(select(Staff).where(Staff.clinic_id == course.clinic_id)).first()
    assert who is not None
    cast.signed(db, who, WED)


def reminded(db: Session, course: Course, phone: Device, shown: range) -> None:
    """Every reminder was sent; of those of these hours the phone said that it was shown."""
    for send in db.scalars(select(PromptSend)).all():
        due = db.get_one(Prompt, send.prompt_id).due_at
        for what in ("sent", *(("shown",) if due.hour in shown else ())):
            event = PromptEvent(at=due, clinic_id=course.clinic_id, send_id=send.id, what=what)
            db.add(event)
    db.flush()


def open_on_weekdays(db: Session, course: Course) -> None:
    """The clinic is open Monday to Friday 9 to 17 in London, 8:00 to 16:00 UTC."""
    set_id = uuid.uuid4()
    for weekday in range(5):
        db.add(
            ClinicHours(
                clinic_id=course.clinic_id, at=WED, set_id=set_id, weekday=weekday,
                opens=time(9), closes=time(17),
            )
        )  # fmt: skip
    db.flush()
