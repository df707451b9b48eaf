"""Load the demo clinic by calling the services with a moving clock."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

from sqlalchemy.orm import Session

from homeprog.domain.clock import local, to_utc
from homeprog.storage.models import Course, Device

from .people import DAYS, ENDS, PEOPLE, WAITING, ZONE, Person, operated_on
from .phones import RETURNS_RECEIPTS, Phone
from .play import play
from .staff_days import (
    Act,
    Team,
    days_of,
    enrol,
    enrol_again,
    invented_phone,
    set_up_clinic,
    settle_open,
    workday,
)

TICK = timedelta(hours=3)  # by day; the night is one
ANSWERED_AT = (time(9, 20), time(15, 40))  # on each working day staff settle what is open
LEFT_OPEN = timedelta(hours=30)  # of the last alerts, for whoever tries the demo
WIDTH = 40


def load(db: Session, kept: Path, tell: Callable[[float], None]) -> Team:
    """Everyone's twelve weeks. `kept` gets the sign-ins, readable by the owner alone.

    `tell` is given the part done, 0 to 1.
    """
    began = (ENDS - timedelta(days=DAYS)).astimezone(UTC)
    ends = ENDS.astimezone(UTC)
    team = set_up_clinic(db, began)
    _keep_sign_ins(team, kept)
    scene = _Scene(team, began)
    acts = [act for person in (*PEOPLE, WAITING) for act in scene.acts(person)]
    acts += [Act(at, scene.answer) for at in answered(began, ends - LEFT_OPEN)]
    play(db, scene.phones, acts, began, ends, TICK,
         lambda instant: tell((instant - began) / (ends - began)))  # fmt: skip
    return team


def answered(since: datetime, until: datetime) -> Iterator[datetime]:
    """The instants at which staff go through what is open."""
    days = (local(since, ZONE).date() + timedelta(days=n) for n in range((until - since).days + 2))
    instants = (to_utc(day, at, ZONE) for day in days if workday(day) == day for at in ANSWERED_AT)
    return (at for at in instants if since < at <= until)


class _Scene:
    """The load's people as they come in: courses and phones exist from enrolment on."""

    def __init__(self, team: Team, began: datetime) -> None:
        self.team, self.began = team, began
        self.phones: list[Phone] = []
        self.courses: dict[Person, Course] = {}

    def acts(self, person: Person) -> list[Act]:
        """Enrolment on the afternoon of the operation, then the staff's dates."""
        operated = operated_on(person)
        enrolled = to_utc(operated, time(15, 30), ZONE)

        def come_in(db: Session, now: datetime) -> None:
            self.courses[person] = course = self._enrol(db, person, operated, now)
            if person is not WAITING:
                self.phones.append(
                    Phone(person, course, self._device(db, person, course, now), operated)
                )

        dates = days_of(self.team, person, lambda: self.courses[person], operated)
        return [Act(enrolled, come_in), *dates]

    def _enrol(self, db: Session, person: Person, operated: date, now: datetime) -> Course:
        if not person.again:
            return enrol(db, self.team, person, operated, now)
        before = next(c for p, c in self.courses.items() if p.number == person.number)
        return enrol_again(db, self.team, person, operated, before, now)

    def _device(self, db: Session, person: Person, course: Course, now: datetime) -> Device:
        """The patient's phone: paired once, whatever the number of operations."""
        for phone in self.phones:
            if phone.device.patient_id == course.patient_id:
                return phone.device
        return invented_phone(db, course, person.kind in RETURNS_RECEIPTS, now)

    def answer(self, db: Session, now: datetime) -> None:
        for person, course in self.courses.items():
            settle_open(db, self.team, person, course, now)


def _keep_sign_ins(team: Team, kept: Path) -> None:
    kept.touch(mode=0o600)
    kept.write_text(json.dumps(team.passwords))


def bar(part: float) -> str:
    """A progress bar of one line."""
    filled = round(part * WIDTH)
    return f"\rLoading the demo clinic [{'#' * filled}{'.' * (WIDTH - filled)}] {part:4.0%}"
