"""A unit with a therapist, two colleagues and a manager, and boxes that keep what is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.notice import Notice as Message
from homeprog.delivery.staff_post import Carriers
from homeprog.domain.alert.settings import WHOLE_CLINIC
from homeprog.jobs import notify
from homeprog.services.open_alert import open_alert
from homeprog.storage.models import (
    Alert,
    AlertSetting,
    Clinic,
    ClosingDay,
    Course,
    Notice,
    Staff,
)
from tests import cast

BEGAN = datetime(2026, 6, 1, 6, tzinfo=UTC)  # Monday 7:00 in London


def at(hour: int, minute: int = 0, day: int = 5) -> datetime:
    """An instant of June 2026 by the clinic's clock (UTC+1); the 5th is a Friday."""
    return datetime(2026, 6, day, tzinfo=UTC) + timedelta(hours=hour - 1, minutes=minute)


class MailBox:
    """Takes e-mail for real addresses; raises the errors of `fails` first, one a mail."""

    def __init__(self, *fails: DeliveryError) -> None:
        self.sent: list[tuple[str, Message]] = []
        self.fails = list(fails)

    def send(self, to: str, notice: Message) -> None:
        if self.fails:
            raise self.fails.pop(0)
        self.sent.append((to, notice))

    def take(self) -> list[str]:
        """To whom mail went since the last look."""
        found = [to.split("@")[0] for to, _ in self.sent]
        self.sent.clear()
        return found


class HookBox:
    """Takes webhook calls."""

    def __init__(self) -> None:
        self.sent: list[Message] = []

    def send(self, notice: Message) -> None:
        self.sent.append(notice)


@dataclass
class Unit:
    """The clinic, its people by first name, and its mail."""

    db: Session
    clinic: Clinic
    anna: Staff  # responsible therapist
    ben: Staff
    cleo: Staff
    mona: Staff  # manager
    course: Course
    mail: MailBox = field(default_factory=MailBox)
    hook: HookBox | None = None

    def minute(self, now: datetime) -> list[str]:
        """Run the job at an instant: to whom mail went."""
        notify(self.db, Carriers(email=self.mail, webhook=self.hook), lambda: now)
        return sorted(self.mail.take())

    def alert(self, kind: str, level: str, now: datetime, **figures: Any) -> Alert:
        row = open_alert(self.db, self.course, kind, level, figures, now)
        assert row is not None
        self.db.commit()
        return row

    def set(self, kind: str, now: datetime = BEGAN, **value: Any) -> None:
        self.db.add(AlertSetting(clinic_id=self.clinic.id, at=now, kind=kind, value=value))
        self.db.commit()

    def listed(self, *people: Staff, **more: Any) -> None:
        """The clinic's list, in order."""
        self.set(WHOLE_CLINIC, people=[str(each.id) for each in people], **more)

    def closed(self, day: date) -> None:
        self.db.add(ClosingDay(clinic_id=self.clinic.id, at=BEGAN, day=day, why="a holiday"))
        self.db.commit()

    def notices(self) -> list[Notice]:
        self.db.expire_all()
        return list(self.db.scalars(select(Notice).order_by(Notice.at, Notice.id)))


def unit(db: Session) -> Unit:
    """Everybody has e-mail; nobody is on duty and the list is empty."""
    clinic = cast.clinic(db, BEGAN)
    people: Mapping[str, tuple[str, str | None]] = {
        "anna": ("therapist", "hand_therapist"), "ben": ("therapist", "hand_therapist"),
        "cleo": ("therapist", "nurse"), "mona": ("manager", None),
    }  # fmt: skip
    made = {
        name: cast.staff(db, clinic, BEGAN, role, mark, name.capitalize())
        for name, (role, mark) in people.items()
    }
    for name, who in made.items():
        who.email = f"{name}@unit.example"
    course = cast.confirmed(db, made["anna"], BEGAN)
    db.commit()
    return Unit(db, clinic, course=course, **made)


def trouble(unit: Unit, now: datetime, **more: Any) -> Alert:
    """A report of a snap."""
    return unit.alert("trouble", "now", now, trouble="snap", stop=True, **more)
