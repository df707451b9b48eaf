"""Whom this house reaches: who is on duty, by which ways, and which channels fail."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.hours import next_opening
from . import clinics, notices, telling
from .models import Staff
from .notices import Failing
from .reach_query import Known, known

NO_ONE = "No one is woken by this system."
WORDS = {"push": "web push", "email": "e-mail", "webhook": "the webhook"}


@dataclass(frozen=True, slots=True)
class Person:
    """A staff member and the ways that lead to them; failing ones left out."""

    name: str
    ways: tuple[str, ...]

    @property
    def words(self) -> str:
        """'Anna Berg (web push, e-mail)'."""
        return f"{self.name} ({', '.join(WORDS[way] for way in self.ways) or 'by no way'})"


@dataclass(frozen=True, slots=True)
class Reach:
    """Who is on duty at `now` and whether any channel reaches them."""

    now: datetime
    zone: str
    on_duty: tuple[Person, ...]
    failing: tuple[Failing, ...]
    opens: datetime | None  # in a 'nobody' hour: when the clinic is next open

    @property
    def woken(self) -> tuple[Person, ...]:
        return tuple(each for each in self.on_duty if each.ways)


def reach(
    db: Session, clinic_id: uuid.UUID, zone: str, now: datetime, channels: Collection[str]
) -> Reach:
    """Who is on duty at `now` and by which working channels they are reached; one query."""
    there = known(db, clinic_id, zone, now)
    failing = tuple(Failing(*each) for each in there.failing)
    working = set(channels) - {each.channel for each in failing}
    on_duty = tuple(
        Person(there.staff[who][0], _ways(there, who, working))
        for who in there.week.on_duty(now)
        if who in there.staff
    )
    closed = there.week.closing.days
    opens = None if on_duty else next_opening(there.week.hours, zone, now, closed)
    return Reach(now, zone, on_duty, failing, opens)


def _ways(there: Known, who: str, working: Collection[str]) -> tuple[str, ...]:
    leads = {
        "push": who in there.subscribed,
        "email": there.staff[who][1],
        "webhook": there.whole.webhook_wakes,
    }
    return tuple(way for way, leads_there in leads.items() if leads_there and way in working)


def rota(
    db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]
) -> list[Person]:
    """Everybody who is on duty at any hour of the week, by name."""
    named = {each.who for each in clinics.duty(db, clinic_id, now) if each.who}
    found = _everybody(db, clinic_id, now, channels)
    return [person for who, person in found if str(who.id) in named]


def everybody(
    db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]
) -> list[Person]:
    """Everybody who works here, by name."""
    return [person for _, person in _everybody(db, clinic_id, now, channels)]


def _everybody(
    db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]
) -> list[tuple[Staff, Person]]:
    there, kept = telling.house(db, clinic_id, now), notices.live_subscriptions(db, clinic_id)
    working = set(channels) - {each.channel for each in notices.failing(db, clinic_id, now)}
    found = []
    for who in there.members.values():
        leads = {
            "push": who.id in kept, "email": who.email, "webhook": there.whole.webhook_wakes,
        }  # fmt: skip
        ways = tuple(way for way, there_is in leads.items() if there_is and way in working)
        found.append((who, Person(who.name, ways)))
    return found
