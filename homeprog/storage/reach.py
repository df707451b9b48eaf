"""Whom this house reaches: who is on duty, by which ways, and which channels fail."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from . import clinics, notices, telling
from .models import Staff, StaffSubscription
from .notices import Failing
from .telling import House

NO_ONE = "No one is woken by this system."
WORDS = {"push": "web push", "email": "e-mail", "webhook": "the webhook"}


@dataclass(frozen=True, slots=True)
class Person:
    """A staff member and the ways that lead to them; failing ones left out."""

    staff: Staff
    ways: tuple[str, ...]

    @property
    def words(self) -> str:
        """'Anna Berg (web push, e-mail)'."""
        return f"{self.staff.name} ({', '.join(WORDS[way] for way in self.ways) or 'by no way'})"


@dataclass(frozen=True, slots=True)
class Reach:
    """Who is on duty now and whether any channel reaches them."""

    on_duty: tuple[Person, ...]
    failing: tuple[Failing, ...]
    reads_from: datetime | None  # in a 'nobody' hour: when trouble is told

    @property
    def woken(self) -> tuple[Person, ...]:
        return tuple(each for each in self.on_duty if each.ways)


def reach(db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]) -> Reach:
    """Who is on duty at `now` and by which working channels they are reached."""
    there, failing = telling.house(db, clinic_id, now), notices.failing(db, clinic_id, now)
    ways = _Ways(db, there, channels, failing)
    on_duty = tuple(Person(there.members[who], ways(who)) for who in there.duty(now))
    opens = None if on_duty else clinics.next_opening(db, clinic_id, now)
    return Reach(on_duty, tuple(failing), opens)


def rota(
    db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]
) -> list[Person]:
    """Everybody who is on duty at any hour of the week, by name."""
    there, failing = telling.house(db, clinic_id, now), notices.failing(db, clinic_id, now)
    ways = _Ways(db, there, channels, failing)
    named = {each.who for each in there.week.duty if each.who}
    return [Person(who, ways(key)) for key, who in there.members.items() if key in named]


def everybody(
    db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]
) -> list[Person]:
    """Everybody who works here, by name."""
    there, failing = telling.house(db, clinic_id, now), notices.failing(db, clinic_id, now)
    ways = _Ways(db, there, channels, failing)
    return [Person(who, ways(key)) for key, who in there.members.items()]


class _Ways:
    """The working ways to a person."""

    def __init__(
        self,
        db: Session,
        there: House,
        channels: Collection[str],
        failing: Sequence[Failing],
    ) -> None:
        self._there = there
        self._channels = set(channels) - {each.channel for each in failing}
        self._kept: Mapping[uuid.UUID, Sequence[StaffSubscription]] = notices.live_subscriptions(
            db, there.clinic_id
        )

    def __call__(self, key: str) -> tuple[str, ...]:
        who = self._there.members[key]
        leads = {
            "push": self._kept.get(who.id),
            "email": who.email,
            "webhook": self._there.whole.webhook_wakes,
        }
        return tuple(way for way, there in leads.items() if there and way in self._channels)
