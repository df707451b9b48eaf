"""Courses with hourly exercises and a phone, as the tests of reminders need them."""

from __future__ import annotations

import base64
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.storage.models import (
    BoutRow,
    Clinic,
    Course,
    CourseEvent,
    Device,
    HoldRow,
    Prompt,
    PromptEvent,
    PromptSend,
    PromptSlot,
    Quiet,
    Revision,
    Staff,
    Subscription,
)
from tests import cast
from tests.domain.regime_cases import body, exercise

HOURLY = {"kind": "every", "every": 60}
# The receiver's public key and secret of RFC 8291 appendix A.
P256DH = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
OTHER_AUTH = base64.urlsafe_b64encode(b"another 16 bytes").rstrip(b"=").decode()
FRIDAY = datetime(2026, 6, 5, 6, 0, tzinfo=UTC)  # waking, 7:00 in London; slots start on the hour


def at(hour: int, minute: int = 0, day: int = 5) -> datetime:
    """An instant of June 2026, UTC."""
    return datetime(2026, 6, day, hour, minute, tzinfo=UTC)


def therapist(db: Session, now: datetime = FRIDAY - timedelta(days=3)) -> Staff:
    return cast.staff(db, cast.clinic(db, now), now)


def hourly(
    db: Session, by: Staff, *keys: str, now: datetime = FRIDAY - timedelta(days=2), **given: Any
) -> Course:
    """A confirmed course whose exercises ('bend' unless named) are due 10 times every hour."""
    course = cast.confirmed(db, by, now, **given)
    revise(db, course, by, now, *(keys or ("bend",)))
    return course


def revise(
    db: Session, course: Course, by: Staff, now: datetime, *keys: str, **more: Any
) -> Revision:
    """One more revision, in force at once, asking for these exercises."""
    told = body("early-controlled-active")
    told["phases"] = told["phases"][:1]
    told["phases"][0]["exercises"] = [
        exercise(**({"key": key, "schedule": HOURLY} | more)) for key in keys
    ]
    kept = db.scalars(select(Revision).where(Revision.course_id == course.id)).all()
    row = Revision(
        clinic_id=course.clinic_id, at=now, course_id=course.id, number=len(kept) + 1,
        effective_from=now, body=told, plan_hash="x", reason="test", by_id=by.id,
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def phone(db: Session, course: Course, endpoint: str | None = None, **more: Any) -> Device:
    """A paired phone with a live subscription; `endpoint` '' for none, invented=True for demo."""
    device = cast.phone(db, course, FRIDAY - timedelta(days=1))
    for name, value in more.items():
        setattr(device, name, value)
    if endpoint != "":
        subscription(db, device, endpoint or f"https://fcm.googleapis.com/fcm/send/{uuid.uuid4()}")
    db.flush()
    return device


def subscription(db: Session, device: Device, endpoint: str) -> Subscription:
    row = Subscription(
        clinic_id=device.clinic_id, at=FRIDAY, device_id=device.id, endpoint=endpoint,
        p256dh=P256DH, auth=AUTH,
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def logged(db: Session, course: Course, when: datetime, amount: int = 10, **more: Any) -> BoutRow:
    told: dict[str, Any] = {
        "clinic_id": course.clinic_id, "at": when, "course_id": course.id, "exercise": "bend",
        "amount": amount, "unit": "times", "how": "one_tap", "pain_asked": False,
        "done_at": when, "entered_at": when, "device_entered_at": when, "offset_ms": 0,
        "zone": "Europe/London", "logged_by": "patient", "source": "phone", "digest": "x",
    }  # fmt: skip
    row = BoutRow(**(told | more))
    db.add(row)
    db.flush()
    return row


def held(db: Session, course: Course, starts: datetime, exercise: str | None = None) -> HoldRow:
    row = HoldRow(
        clinic_id=course.clinic_id, at=starts, course_id=course.id, exercise=exercise,
        kind="stop_flag", starts=starts, reason="a snap",
    )  # fmt: skip
    db.add(row)
    db.flush()
    return row


def closed(db: Session, course: Course, when: datetime) -> None:
    db.add(
        CourseEvent(
            clinic_id=course.clinic_id, at=when, course_id=course.id, kind="closed",
            figures={"reason": "completed"},
        )
    )  # fmt: skip
    db.flush()


def quiet(db: Session, course: Course, starts: datetime, **more: Any) -> None:
    told = {"clinic_id": course.clinic_id, "patient_id": course.patient_id, "kind": "until"}
    db.add(Quiet(**(told | {"at": starts, "starts": starts} | more)))
    db.flush()


def dues(db: Session, clinic: Clinic | None = None) -> list[datetime]:
    """When the prompts that stand fall due."""
    return list(
        db.scalars(
            select(Prompt.due_at).where(Prompt.withdrawn_at.is_(None)).order_by(Prompt.due_at)
        )
    )


def prompt_of(db: Session, due: datetime) -> Prompt:
    return db.scalars(select(Prompt).where(Prompt.due_at == due)).one()


def exercises_at(db: Session, due: datetime) -> list[str]:
    """The exercises of the slots a prompt covers."""
    return sorted(
        db.scalars(
            select(PromptSlot.exercise)
            .join(Prompt, Prompt.id == PromptSlot.prompt_id)
            .where(Prompt.due_at == due, Prompt.withdrawn_at.is_(None))
        )
    )


def sends_at(db: Session, due: datetime) -> list[PromptSend]:
    return list(
        db.scalars(
            select(PromptSend)
            .join(Prompt, Prompt.id == PromptSend.prompt_id)
            .where(Prompt.due_at == due)
            .execution_options(populate_existing=True)
        )
    )


def events_at(db: Session, due: datetime) -> list[tuple[str, str | None]]:
    """(what, detail) of everything that became of the sends of a prompt, in order."""
    return [
        (event.what, event.detail)
        for event in db.scalars(
            select(PromptEvent)
            .join(PromptSend, PromptSend.id == PromptEvent.send_id)
            .join(Prompt, Prompt.id == PromptSend.prompt_id)
            .where(Prompt.due_at == due)
            .order_by(PromptEvent.at)
        )
    ]
