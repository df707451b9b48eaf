"""The invented phones: what each sends, worked out afresh for any span from its seed."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from random import Random
from typing import Any

from sqlalchemy.orm import Session

from homeprog.domain.clock import local
from homeprog.domain.clock import to_utc as wall
from homeprog.domain.timetable import Slot, lay_out
from homeprog.services.actor import Actor
from homeprog.services.mark_contact import hear_phone
from homeprog.services.take_upload import Upload, take_upload
from homeprog.storage.courses import closed, confirmed_at, hand_question
from homeprog.storage.models import Course, Device
from homeprog.storage.timelines import settings_of, zone_at
from homeprog.web.schemas.phone import read_item

from . import behaviour
from .people import ZONE, Person

LOOK_BACK = timedelta(hours=6)  # a slot may be filled in this long after its end
CHECKED_AT = time(19, 30)
CALM = {"splint_on": "yes", "splint_holds": "yes", "no_new_swelling": "yes", "comfortable": "yes"}
NAMESPACE = uuid.UUID("6f0f3d0e-52b5-4c7e-9a55-0d7a3a1c2b10")


@dataclass(frozen=True)
class Phone:
    """One invented patient's phone and course."""

    person: Person
    course: Course
    device: Device
    began: datetime  # the load's first instant, from which load days count

    @property
    def by(self) -> Actor:
        return Actor(self.device.clinic_id, "device", self.device.id)

    def load_day(self, instant: datetime) -> int:
        return (instant - self.began).days

    def dead(self, instant: datetime) -> bool:
        return self.person.kind == "phone_dies" and (self.load_day(instant) in behaviour.PHONE_DEAD)


@dataclass(frozen=True)
class Said:
    """Something a phone says at an instant; item None is a mere look at the phone."""

    at: datetime
    phone: Phone
    item: dict[str, Any] | None


def what_is_said(db: Session, phone: Phone, since: datetime, until: datetime) -> list[Said]:
    """Everything the phone says in (since, until], in order."""
    if closed(db, phone.course, since) or phone.dead(until):
        return []
    zone = zone_at(db, phone.device.patient_id, since)
    found = list(_bouts(db, phone, since, until, zone))
    found += _looks(phone, since, until)
    found += _answers(db, phone, since, until, zone)
    found += _extras(phone, since, until, zone)
    return sorted(found, key=lambda said: said.at)


def _bouts(
    db: Session, phone: Phone, since: datetime, until: datetime, zone: str
) -> Iterator[Said]:
    settings = settings_of(db, phone.course, since)
    if not settings:
        return
    for slot in lay_out(settings, until, since=since - LOOK_BACK):
        rng = Random(f"{phone.person.seed}:{slot.exercise}:{slot.start.isoformat()}")
        amount = slot.dose.amount
        day = phone.load_day(slot.start)
        done = behaviour.go(phone.person.kind, day, slot.start, slot.end, amount, rng)
        if done and since < done.enters_at <= until:
            yield Said(done.enters_at, phone, _bout(phone, slot, done, zone))


def _bout(phone: Phone, slot: Slot, done: behaviour.Go, zone: str) -> dict[str, Any]:
    return _item(phone, "bout", f"{slot.exercise}:{slot.start}", done.enters_at, zone) | {
        "exercise": slot.exercise,
        "amount": done.amount,
        "unit": slot.dose.unit,
        "how": "later" if done.filled_in else "counted",
        "pain": done.pain,
        "pain_asked": True,
        "done_at": None if done.filled_in else _said(done.enters_at),
        "slot_start": _said(slot.start) if done.filled_in else None,
        "logged_by": "patient",
    }


def _item(phone: Phone, kind: str, what: str, at: datetime, zone: str) -> dict[str, Any]:
    return {
        "id": str(uuid.uuid5(NAMESPACE, f"{phone.device.id}:{kind}:{what}")),
        "type": kind,
        "course": str(phone.course.id),
        "entered_at": _said(at),
        "offset_ms": 0,
        "zone": zone,
    }


def _looks(phone: Phone, since: datetime, until: datetime) -> list[Said]:
    """By day patients look at the phone now and then; one who has stopped does not."""
    if not _logs(phone, until) or not by_day(until):
        return []
    return [Said(until - timedelta(minutes=3), phone, None)]


def by_day(instant: datetime) -> bool:
    """Whether the clinic's patients are awake, near enough."""
    return 7 <= local(instant, ZONE).hour < 22


def _answers(
    db: Session, phone: Phone, since: datetime, until: datetime, zone: str
) -> Iterator[Said]:
    """'Is this your hand?' is answered at once, the daily check in the evening."""
    question = hand_question(db, phone.course, since)
    if question is not None:
        item = _item(phone, "hand_answer", str(question.id), until, zone)
        yield Said(until, phone, item | {"question": str(question.id), "answer": "yes"})
    if confirmed_at(db, phone.course, since) is None or not _logs(phone, until):
        return
    day = local(until, zone).date()
    at = wall(day, CHECKED_AT, zone)
    if since < at <= until:
        said = {"day": day.isoformat(), "answers": CALM, "details": {}, "average_pain": 1}
        yield Said(at, phone, _item(phone, "daily_check", day.isoformat(), at, zone) | said)


def _logs(phone: Phone, instant: datetime) -> bool:
    return behaviour.chance(phone.person.kind, phone.load_day(instant)) > 0.0


def _extras(phone: Phone, since: datetime, until: datetime, zone: str) -> Iterator[Said]:
    """The one who travels says so; the one in trouble reports it."""
    day = timedelta(days=1)
    kind = phone.person.kind
    if kind == "travels":
        for on, told in ((behaviour.AWAY.start, behaviour.AWAY_ZONE), (behaviour.AWAY.stop, None)):
            at = phone.began + on * day + timedelta(hours=2)
            if since < at <= until:
                item = _item(phone, "zone_said", str(on), at, zone)
                yield Said(at, phone, item | {"zone": told or ZONE})
    if kind == "trouble":
        for at, trouble in behaviour.troubles(phone.began):
            if since < at <= until:
                item = _item(phone, "trouble", trouble, at, zone)
                yield Said(at, phone, item | {"kind": trouble, "details": {}})


def say(db: Session, phone: Phone, said: Sequence[Said], now: datetime) -> None:
    """Hand what a phone says to the same services that serve real phones, as one upload."""
    items = [read_item(each.item) for each in said if each.item is not None]
    if items:
        take_upload(db, phone.by, phone.device, Upload(items, 0, None), now)
    else:
        hear_phone(db, phone.by, phone.device, 0, None, None, "page", now)


def _said(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat()
