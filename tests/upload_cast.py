"""What a phone sends in tests: items as raw JSON, and an upload of them."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy.orm import Session

from homeprog.jobs import sum_up
from homeprog.services.actor import Actor
from homeprog.services.phone_item import Outcome
from homeprog.services.take_upload import Upload, take_upload
from homeprog.storage.models import Course, Device
from homeprog.storage.summaries import courses_due
from homeprog.web.schemas.phone import read_item

Raw = dict[str, Any]


def told(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat().replace("+00:00", "Z")


def item(sort: str, course: Course | uuid.UUID | str, at: datetime, **own: Any) -> Raw:
    """An item of a type, entered at `at` by a clock that is right."""
    course_id = course if isinstance(course, uuid.UUID | str) else course.id
    return {
        "id": str(uuid.uuid4()), "type": sort, "course": str(course_id), "entered_at": told(at),
        "offset_ms": 0, "zone": "Europe/London",
    } | own  # fmt: skip


def bout(course: Course | uuid.UUID | str, at: datetime, **own: Any) -> Raw:
    """Ten times of 'bend_to_stop', done and entered at `at`."""
    return item("bout", course, at) | {
        "exercise": "bend_to_stop", "amount": 10, "unit": "times", "how": "one_tap", "pain": 2,
        "pain_asked": True, "done_at": told(at), "slot_start": None, "plan_version": None,
        "supersedes": None, "logged_by": "patient",
    } | own  # fmt: skip


def trouble(course: Course | uuid.UUID | str, at: datetime, kind: str = "wound", **own: Any) -> Raw:
    return item("trouble", course, at) | {"kind": kind, "details": {}} | own


def send(
    db: Session, device: Device, items: Iterable[Mapping[str, Any]], now: datetime, left: int = 0
) -> list[Outcome]:
    """One upload, committed, and what the minute's job sums up after it."""
    outcomes = upload(db, device, items, now, left)
    assert sum_up(db, now, [course.id for course in courses_due(db, now)]) == set()
    return outcomes


def upload(
    db: Session, device: Device, items: Iterable[Mapping[str, Any]], now: datetime, left: int = 0
) -> list[Outcome]:
    """One upload, committed: days are touched, not summed up."""
    by = Actor(device.clinic_id, "device", device.id)
    outcomes = take_upload(db, by, device, read(items, left), now)
    db.commit()
    return outcomes


def read(items: Iterable[Mapping[str, Any]], left: int = 0) -> Upload:
    """As the route reads it."""
    return Upload([read_item(raw) for raw in items], left, None)


def results(outcomes: Iterable[Outcome]) -> list[str]:
    return [outcome.result for outcome in outcomes]


def codes(outcomes: Iterable[Outcome]) -> list[str | None]:
    return [outcome.code for outcome in outcomes]
