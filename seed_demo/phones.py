"""The invented phones: what each sends, worked out afresh for any span from its seed."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.check import questions
from homeprog.domain.clock import local
from homeprog.domain.clock import to_utc as wall
from homeprog.domain.timetable import Slot, lay_out
from homeprog.domain.trouble import Kind as Trouble
from homeprog.services.actor import Actor
from homeprog.services.mark_contact import hear_phone
from homeprog.services.mark_receipt import mark_receipt
from homeprog.services.take_upload import Upload, take_upload
from homeprog.storage.courses import closed, confirmed_at, hand_question
from homeprog.storage.models import Course, Device, PromptEvent, PromptSend
from homeprog.storage.timelines import holds_of, phase_in_force, settings_of, zone_at
from homeprog.web.schemas.phone import read_item

from . import behaviour
from .people import ZONE, Kind, Person

LOOK_BACK = timedelta(hours=16)  # a slot may be filled in this long after its start
CHECKED_AT = time(19, 30)
NAMESPACE = uuid.UUID("6f0f3d0e-52b5-4c7e-9a55-0d7a3a1c2b10")
OFF_AT_NIGHT = {"off_hours": "over_2", "off_why": "sore", "off_now": False}
RETURNS_RECEIPTS: frozenset[Kind] = frozenset({"locked_away", "puts_it_down", "fading"})


@dataclass(frozen=True)
class Phone:
    """One invented patient's phone and course."""

    person: Person
    course: Course
    device: Device
    operated: date

    @property
    def by(self) -> Actor:
        return Actor(self.device.clinic_id, "device", self.device.id)

    def day(self, instant: datetime) -> int:
        """The course day, near enough: by the clinic's midnight."""
        return (local(instant, ZONE).date() - self.operated).days

    def away(self, instant: datetime, zone: str) -> bool:
        """Whether nothing reaches it, and nothing comes from it."""
        day = self.day(instant)
        dead = self.person.kind == "phone_dies" and day in behaviour.PHONE_DEAD
        return dead or behaviour.locked_away(self.person, day, instant, zone)

    def in_use(self, instant: datetime) -> bool:
        """Whether the patient still takes it in hand; who never starts looks at it for a week."""
        day = self.day(instant)
        early = self.person.kind == "never_starts" and day < behaviour.SILENT_FROM
        return early or behaviour.level(self.person, day) > 0.0


@dataclass(frozen=True)
class Said:
    """Something a phone says at an instant; item None is a mere look at the phone."""

    at: datetime
    phone: Phone
    item: dict[str, Any] | None


def what_is_said(db: Session, phone: Phone, since: datetime, until: datetime) -> list[Said]:
    """Everything the phone says in (since, until], in order."""
    zone = zone_at(db, phone.device.patient_id, since)
    if closed(db, phone.course, since) or phone.away(until, zone):
        return []
    found = list(_bouts(db, phone, since, until, zone))
    found += _looks(phone, since, until)
    found += _answers(db, phone, since, until, zone)
    found += _extras(phone, since, until, zone)
    return sorted(found, key=lambda said: said.at)


def _bouts(
    db: Session, phone: Phone, since: datetime, until: datetime, zone: str
) -> Iterator[Said]:
    settings = settings_of(db, phone.course, since)
    holds = holds_of(db, phone.course, since)
    stopped = min((at for at, _ in _reports(phone, since, until)), default=until)
    for slot in lay_out(settings, until, since=since - LOOK_BACK):
        rng = Random(f"{phone.person.seed}:{slot.exercise}:{slot.start.isoformat()}")
        amount, day = slot.dose.amount, phone.day(slot.start)
        done = behaviour.go(phone.person, day, slot.start, slot.end, amount, zone, rng)
        if any(hold.meets(slot.start, slot.end) for hold in holds):
            continue  # the phone has no start button then
        if done and since < done.enters_at <= stopped:
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
        "id": str(uuid.uuid5(NAMESPACE, f"{phone.device.id}:{phone.course.id}:{kind}:{what}")),
        "type": kind,
        "course": str(phone.course.id),
        "entered_at": _said(at),
        "offset_ms": 0,
        "zone": zone,
    }


def _looks(phone: Phone, since: datetime, until: datetime) -> list[Said]:
    """By day patients look at the phone now and then; one who has stopped does not."""
    if not phone.in_use(until) or not by_day(until):
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
    at = wall(local(until, zone).date(), CHECKED_AT, zone)
    if since < at <= until and _answers_checks(db, phone, until):
        yield Said(at, phone, _check(db, phone, at, zone))


def _answers_checks(db: Session, phone: Phone, at: datetime) -> bool:
    if phone.person.kind == "no_check" or not phone.in_use(at):
        return False
    return confirmed_at(db, phone.course, at) is not None


def _check(db: Session, phone: Phone, at: datetime, zone: str) -> dict[str, Any]:
    """The questions that fit the stage, all answered well but by whoever takes the splint off."""
    day = phone.day(at)
    phase = phase_in_force(db, phone.course, at)
    answers: dict[str, str] = dict.fromkeys(questions(phase) if phase else (), "yes")
    details: dict[str, Any] = {}
    if "splint_on" in answers and behaviour.splint_off(phone.person, day):
        answers["splint_on"], details = "no", OFF_AT_NIGHT
    on = local(at, zone).date().isoformat()
    return _item(phone, "daily_check", on, at, zone) | {
        "day": on,
        "answers": answers,
        "details": details,
        "average_pain": behaviour.usual_pain(phone.person, day),
    }


def _extras(phone: Phone, since: datetime, until: datetime, zone: str) -> Iterator[Said]:
    """The one who travels says so; those in trouble report it."""
    if phone.person.kind == "travels":
        yield from _journeys(phone, since, until, zone)
    for at, trouble in _reports(phone, since, until):
        item = _item(phone, "trouble", trouble, at, zone)
        yield Said(at, phone, item | {"kind": trouble, "details": {}})


def _reports(phone: Phone, since: datetime, until: datetime) -> list[tuple[datetime, Trouble]]:
    told = behaviour.troubles(phone.person, phone.operated, ZONE)
    return [(at, trouble) for at, trouble in told if since < at <= until]


def _journeys(phone: Phone, since: datetime, until: datetime, zone: str) -> Iterator[Said]:
    """There, and back again."""
    for on, told in ((behaviour.AWAY.start, behaviour.AWAY_ZONE), (behaviour.AWAY.stop, ZONE)):
        at = wall(phone.operated + timedelta(days=on), time(16, 10), ZONE)
        if since < at <= until:
            yield Said(at, phone, _item(phone, "zone_said", str(on), at, zone) | {"zone": told})


def say(db: Session, phone: Phone, said: Sequence[Said], now: datetime) -> None:
    """Hand what a phone says to the same services that serve real phones, as one upload."""
    items = [read_item(each.item) for each in said if each.item is not None]
    if items:
        take_upload(db, phone.by, phone.device, Upload(items, 0, None), now)
    else:
        hear_phone(db, phone.by, phone.device, 0, None, None, "page", now)


def show_reminders(db: Session, phone: Phone, now: datetime) -> None:
    """The worker of a phone that is on shows what was sent, and says so."""
    if phone.person.kind not in RETURNS_RECEIPTS:
        return
    if phone.away(now, zone_at(db, phone.device.patient_id, now)):
        return
    shown = select(PromptEvent.send_id).where(PromptEvent.what == "shown")
    sent = db.scalars(
        select(PromptSend.id).where(
            PromptSend.device_id == phone.device.id,
            PromptSend.state == "sent",
            PromptSend.due_at > now - timedelta(hours=4),
            PromptSend.id.not_in(shown),
        )
    ).all()
    for send_id in sent:
        mark_receipt(db, phone.by, send_id, "shown", now, now)
    if sent:
        hear_phone(db, phone.by, phone.device, 0, None, None, "worker", now)


def _said(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat()
