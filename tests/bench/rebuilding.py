"""A rebuild of every day of many patients, by inserted rows, over a plain SELECT of their bouts."""

from __future__ import annotations

import random
import time
import uuid
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from datetime import time as wall
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import insert, inspect, select
from sqlalchemy.orm import Session

from homeprog.services.rebuild import rebuild
from homeprog.storage.base import Row
from homeprog.storage.models import (
    BoutRow,
    ContactMarkRow,
    Course,
    CourseEvent,
    Device,
    Release,
    WakingHours,
)

from .. import cast
from ..house import House
from ..regime_cast import OnRegime, on_regime

DAYS, SLOTS = 84, 16  # hourly from 7 to 23
LOGGED = 0.9  # share of the slots with a bout, at any minute of them
FEW = 10  # patients of the base of the growth
ROUNDS = 3
READ = (  # what a rebuild reads of each bout
    BoutRow.id, BoutRow.device_id, BoutRow.exercise, BoutRow.amount, BoutRow.done_at,
    BoutRow.entered_at, BoutRow.at, BoutRow.slot_start, BoutRow.revision, BoutRow.pain,
    BoutRow.pain_asked, BoutRow.split,
)  # fmt: skip

Kept = Sequence[tuple[type[Row], Mapping[str, Any]]]


def rebuild_figures(folder: Path, patients: int) -> Iterator[tuple[str, float, str, float]]:
    """(name, value, unit, most allowed)."""
    house = House(folder)
    house.lay()
    engine, now = house.engine(), datetime.now(UTC)
    with Session(engine) as db:
        courses = lay_patients(db, now, patients)
        few = median(rebuilding(db, courses[:FEW], now) for _ in range(ROUNDS))
        many = rebuilding(db, courses[: 10 * FEW], now)
        whole = many if patients == 10 * FEW else rebuilding(db, courses, now)
        plain = median(reading(db, courses) for _ in range(ROUNDS))
    engine.dispose()
    yield f"rebuild_of_{patients}_patients_{DAYS}_days_over_select", whole / plain, "ratio", 8
    yield "rebuild_of_10_times_the_patients", many / few, "times", 11


def rebuilding(db: Session, courses: Sequence[uuid.UUID], now: datetime) -> float:
    """Seconds in which every summary of these courses is made from the raw rows."""
    begun = time.perf_counter()
    for course in courses:
        told = rebuild(db, db.get_one(Course, course), now)
        assert told.summaries > DAYS
        db.commit()
    return time.perf_counter() - begun


def reading(db: Session, courses: Sequence[uuid.UUID]) -> float:
    """Seconds in which the bouts of these courses are read as tuples, a course at a time."""
    begun = time.perf_counter()
    for course in courses:
        rows = db.execute(select(*READ).where(BoutRow.course_id == course)).all()
        assert len(rows) > DAYS * SLOTS / 2
    db.commit()
    return time.perf_counter() - begun


def lay_patients(db: Session, now: datetime, count: int) -> list[uuid.UUID]:
    """So many patients on one regime, each with a phone and a bout in about each slot."""
    opened = (now - timedelta(days=DAYS)).replace(hour=3, minute=0, second=0, microsecond=0)
    first = on_regime(db, opened)
    cast.phone(db, first.course, opened)
    kept = [(type(row), _columns(row)) for row in _rows(db, first)]
    return [_lay_patient(db, kept, random.Random(number), now) for number in range(count)]


def _rows(db: Session, first: OnRegime) -> list[Row]:
    """What makes a course, each row after those it names."""
    patient, course = first.patient.id, first.course.id
    rows: list[Row] = [first.patient, first.course, first.revision]
    rows += db.scalars(select(Device).where(Device.patient_id == patient))
    rows += db.scalars(select(WakingHours).where(WakingHours.patient_id == patient))
    rows += db.scalars(select(CourseEvent).where(CourseEvent.course_id == course))
    return [*rows, *db.scalars(select(Release).where(Release.course_id == course))]


def _columns(row: Row) -> dict[str, Any]:
    told = {column.key: getattr(row, column.key) for column in inspect(type(row)).column_attrs}
    return told | ({"sleep": wall(23)} if isinstance(row, WakingHours) else {})


def _lay_patient(db: Session, kept: Kept, dice: random.Random, now: datetime) -> uuid.UUID:
    """One more patient by plain inserts: the kept rows under new ids, and bouts of every day."""
    ids: dict[Any, uuid.UUID] = {row["id"]: uuid.uuid4() for _, row in kept}
    made: dict[type[Row], dict[str, Any]] = {}
    for model, row in kept:
        made[model] = {
            name: ids.get(value, value) if isinstance(value, uuid.UUID) else value
            for name, value in row.items()
        }
        if model is Device:
            made[model]["token_hash"] = uuid.uuid4().bytes
        db.execute(insert(model), made[model])
    course, device = made[Course], made[Device]
    db.execute(insert(BoutRow), list(_bouts(course, device["id"], dice, now)))
    db.execute(insert(ContactMarkRow), _word(device, now))
    db.commit()
    key: uuid.UUID = course["id"]
    return key


def _bouts(
    course: Mapping[str, Any], device: uuid.UUID, dice: random.Random, now: datetime
) -> Iterator[dict[str, Any]]:
    for hour in range(24 * (DAYS + 1)):
        at = course["at"] + timedelta(hours=hour, seconds=dice.randrange(3600))
        if 7 <= at.hour < 7 + SLOTS and at < now and dice.random() < LOGGED:
            yield {
                "id": uuid.uuid4(), "at": at, "clinic_id": course["clinic_id"],
                "course_id": course["id"], "exercise": "bend_to_stop", "amount": 10,
                "unit": "times", "how": "one_tap", "pain": dice.randrange(4), "pain_asked": True,
                "done_at": at, "entered_at": at, "device_done_at": at, "device_entered_at": at,
                "offset_ms": 0, "zone": "Europe/London", "device_id": device,
                "logged_by": "patient", "source": "phone", "digest": "-",
            }  # fmt: skip


def _word(device: Mapping[str, Any], now: datetime) -> dict[str, Any]:
    return {
        "clinic_id": device["clinic_id"], "at": now, "device_id": device["id"], "kind": "ping",
        "outbox_empty": True,
    }  # fmt: skip
