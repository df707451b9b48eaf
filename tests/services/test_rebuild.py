"""Summaries kept step by step are those that the raw rows give."""

from __future__ import annotations

import random
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.services.assess_course import assess_course
from homeprog.services.rebuild import rebuild
from homeprog.storage.models import (
    BoutRow,
    ContactMarkRow,
    DaySummaryRow,
    Device,
    HoldEnd,
    HoldRow,
    ZoneStay,
)
from homeprog.storage.summaries import courses_due, summaries
from tests.services import prompt_cast as p
from tests.services.prompt_cast import FRIDAY

START = FRIDAY - timedelta(days=2)
ONE = timedelta(seconds=1)


class Life:
    """An invented patient whose days go by; every step calls what the product would call."""

    def __init__(self, db: Session, seed: int) -> None:
        self.db = db
        self.random = random.Random(seed)
        self.by = p.therapist(db)
        self.course = p.hourly(db, self.by, "bend", "massage")
        self.phones = [p.phone(db, self.course), p.phone(db, self.course)]
        for phone in self.phones:
            phone.at = self.course.at  # linked before anything was due
        self.now = START

    def live(self, steps: int) -> None:
        acts: list[Callable[[], None]] = [
            self.log, self.log, self.log, self.log_late, self.fill_in, self.correct, self.speak,
            self.hold, self.resume, self.travel, self.revise, self.wait, self.wait,
        ]  # fmt: skip
        for _ in range(steps):
            self.pass_slots(self.now + timedelta(minutes=self.random.randrange(1, 200)))
            self.random.choice(acts)()

    def pass_slots(self, until: datetime) -> None:
        """The job of each minute, where a minute has something to do."""
        while True:
            due = self.db.scalars(
                select(DaySummaryRow.next_at)
                .where(DaySummaryRow.next_at < until)
                .order_by(DaySummaryRow.next_at)
            ).first()
            if due is None:
                break
            self.now = max(self.now, due + ONE)
            for course in courses_due(self.db, self.now):
                assess_course(self.db, course, self.now)
        self.now = max(until, self.now)

    def log(self, ago: timedelta = timedelta()) -> None:
        when = max(self.now - ago, START)
        self._keep(done_at=when, entered_at=when)
        assess_course(self.db, self.course, self.now, since=when)

    def log_late(self) -> None:
        """Made without network, sent later."""
        self.log(timedelta(minutes=self.random.randrange(1, 40 * 60)))

    def fill_in(self) -> None:
        slots = [
            datetime.fromisoformat(start)
            for row in summaries(self.db, self.course.id)
            for start, end, *_ in row.standings
            if timedelta() <= self.now - datetime.fromisoformat(end) <= timedelta(hours=48)
        ]
        if slots:
            slot = self.random.choice(slots)
            self._keep(done_at=None, slot_start=slot, entered_at=self.now)
            assess_course(self.db, self.course, self.now, since=slot)

    def correct(self) -> None:
        newest = select(BoutRow).order_by(BoutRow.entered_at.desc(), BoutRow.id)
        rows = self.db.scalars(newest).all()
        if rows:
            old = self.random.choice(rows[:5])
            place = old.slot_start or old.done_at or old.entered_at
            self._keep(
                done_at=old.done_at, slot_start=old.slot_start, entered_at=self.now,
                exercise=old.exercise, supersedes_id=old.id,
            )  # fmt: skip
            assess_course(self.db, self.course, self.now, since=place)

    def speak(self) -> None:
        phone = self.random.choice(self.phones)
        self.db.add(
            ContactMarkRow(
                at=self.now, clinic_id=self.course.clinic_id, device_id=phone.id, kind="ping",
                outbox_empty=self.random.random() < 0.8,
            )
        )  # fmt: skip
        self.db.flush()
        assess_course(self.db, self.course, self.now)

    def hold(self) -> None:
        starts = self.now - timedelta(minutes=self.random.randrange(300))
        exercise = self.random.choice([None, "bend"])
        hold = p.held(self.db, self.course, starts, exercise)
        hold.at = self.now
        self.db.flush()
        assess_course(self.db, self.course, self.now, since=starts)

    def resume(self) -> None:
        ended = select(HoldEnd.hold_id)
        held = select(HoldRow).where(HoldRow.id.not_in(ended)).order_by(HoldRow.at, HoldRow.starts)
        hold = self.db.scalars(held).first()
        if hold is not None:
            self.db.add(
                HoldEnd(
                    at=self.now, clinic_id=hold.clinic_id, hold_id=hold.id, ends=self.now,
                    reason="seen",
                )
            )  # fmt: skip
            self.db.flush()
            assess_course(self.db, self.course, self.now, since=hold.starts)

    def travel(self) -> None:
        zone = self.random.choice(["Europe/London", "America/New_York", "Asia/Kolkata"])
        self.db.add(
            ZoneStay(
                at=self.now, clinic_id=self.course.clinic_id, patient_id=self.course.patient_id,
                zone=zone, starts=self.now, said_by="phone",
            )
        )  # fmt: skip
        self.db.flush()
        assess_course(self.db, self.course, self.now, since=self.now)

    def revise(self) -> None:
        keys = self.random.choice([("bend",), ("bend", "massage"), ("massage",)])
        p.revise(self.db, self.course, self.by, self.now, *keys)
        assess_course(self.db, self.course, self.now, since=self.now)

    def wait(self) -> None:
        """A night, or a day, in which nothing is heard."""
        self.pass_slots(self.now + timedelta(hours=self.random.randrange(5, 30)))

    def _keep(self, **more: object) -> None:
        phone: Device = self.random.choice(self.phones)
        told = {
            "at": self.now, "device_id": phone.id, "amount": self.random.randrange(1, 15),
            "exercise": self.random.choice(["bend", "bend", "massage"]),
            "pain": self.random.choice([None, 3, 8]), "pain_asked": True,
            "id": uuid.UUID(int=self.random.getrandbits(128)),
        }  # fmt: skip
        p.logged(self.db, self.course, self.now, **(told | more))


@pytest.mark.parametrize("seed", range(3))
def test_a_rebuild_gives_what_was_kept_step_by_step(db: Session, seed: int) -> None:
    life = Life(db, seed)
    life.live(50)
    life.pass_slots(life.now + timedelta(hours=1))
    told = rebuild(db, life.course, life.now)
    assert told.changed == ()
    assert told.summaries >= 10


def test_a_rebuild_finds_and_mends_a_summary_that_is_wrong(db: Session) -> None:
    course = p.hourly(db, p.therapist(db))
    p.logged(db, course, FRIDAY)
    assess_course(db, course, FRIDAY + timedelta(hours=5), since=START)
    row = summaries(db, course.id)[-1]
    day, right = row.date, dict(row.figures)
    row.figures = right | {"timely": 999}
    db.flush()
    assert rebuild(db, course, FRIDAY + timedelta(hours=5)).changed == ((day, "bend"),)
    assert summaries(db, course.id)[-1].figures == right


def test_a_rebuild_leaves_other_courses_alone(db: Session) -> None:
    by = p.therapist(db)
    one, other = p.hourly(db, by), p.hourly(db, by, name="Another Invented", number="SH 1")
    for course in (one, other):
        assess_course(db, course, FRIDAY, since=START)
    kept = [row.id for row in summaries(db, other.id)]
    rebuild(db, one, FRIDAY)
    assert [row.id for row in summaries(db, other.id)] == kept
