"""Load the demo clinic by calling the services with a moving clock."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy.orm import Session

from homeprog.storage.models import Course

from .people import DAYS, ENDS, PEOPLE, WAITING, Person
from .phones import Phone
from .play import play
from .staff_days import Act, Team, days_of, enrol, invented_phone, set_up_clinic, settle_open

TICK = timedelta(minutes=30)  # by day; every span by night
ANSWERED = ((16, 20.0, "talked_through"), (20, 22.0, "rang"))  # load day, hours after, what
WIDTH = 40


def load(db: Session, kept: Path, tell: Callable[[float], None]) -> Team:
    """Everyone's four weeks. `kept` gets the sign-ins, readable by the owner alone.

    `tell` is given the part done, 0 to 1.
    """
    began = (ENDS - timedelta(days=DAYS)).astimezone(UTC)
    team = set_up_clinic(db, began)
    _keep_sign_ins(team, kept)
    scene = _Scene(team, began)
    acts = [act for person in (*PEOPLE, WAITING) for act in scene.acts(person)]
    acts += [Act(began + timedelta(days=day, hours=hours), scene.answer(done))
             for day, hours, done in ANSWERED]  # fmt: skip
    whole = ENDS.astimezone(UTC) - began
    play(db, scene.phones, acts, began, ENDS.astimezone(UTC), TICK,
         lambda instant: tell((instant - began) / whole))  # fmt: skip
    return team


class _Scene:
    """The load's people as they come in: courses and phones exist from enrolment on."""

    def __init__(self, team: Team, began: datetime) -> None:
        self.team, self.began = team, began
        self.phones: list[Phone] = []
        self.courses: dict[str, Course] = {}

    def acts(self, person: Person) -> list[Act]:
        """Enrolment on the afternoon of the operation, then the staff's dates."""
        midnight = ENDS.replace(hour=0, minute=0) - timedelta(days=DAYS - person.operated)
        first = midnight + timedelta(hours=15, minutes=30)
        enrolled = max(first.astimezone(UTC), self.began + timedelta(minutes=5))

        def come_in(db: Session, now: datetime) -> None:
            course = enrol(db, self.team, person, midnight.date(), now)
            self.courses[person.number] = course
            if person is not WAITING:
                device = invented_phone(db, course, person, now)
                self.phones.append(Phone(person, course, device, self.began))

        return [Act(enrolled, come_in), *self._dates(person, midnight.astimezone(UTC))]

    def _dates(self, person: Person, operated: datetime) -> list[Act]:
        return days_of(self.team, person, lambda: self.courses[person.number], self.began, operated)

    def answer(self, done: str) -> Callable[[Session, datetime], None]:
        """Settle what is open then; later alerts are left for whoever tries the demo."""

        def settle(db: Session, now: datetime) -> None:
            for course in self.courses.values():
                settle_open(db, self.team, course, done, now)

        return settle


def _keep_sign_ins(team: Team, kept: Path) -> None:
    kept.touch(mode=0o600)
    kept.write_text(json.dumps(team.passwords))


def bar(part: float) -> str:
    """A progress bar of one line."""
    filled = round(part * WIDTH)
    return f"\rLoading the demo clinic [{'#' * filled}{'.' * (WIDTH - filled)}] {part:4.0%}"
