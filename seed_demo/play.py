"""Play the clinic from one instant to another: phones, staff and every job, tick by tick."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.clock import local, to_utc
from homeprog.jobs import run_due
from homeprog.storage.models import Clinic, Course, Device, Identifier

from .people import PEOPLE, ZONE, operated_on
from .phones import Phone, Said, by_day, say, show_reminders, what_is_said
from .staff_days import Act

LOOKS_EVERY = timedelta(hours=3)  # how often what phones say is worked out
MORNING = time(7)  # a night is one span and one tick, up to then
Tell = Callable[[datetime], None]


def play(
    db: Session,
    phones: Sequence[Phone],
    acts: Iterable[Act],
    since: datetime,
    until: datetime,
    tick: timedelta,
    tell: Tell = lambda instant: None,
) -> None:
    """Everything that happens in (since, until], in order; committed span by span."""
    waiting = sorted(acts, key=lambda act: act.at)
    while since < until:
        to = min(_next(since), until)
        said = {phone: what_is_said(db, phone, since, to) for phone in phones}
        due = [act for act in waiting if since < act.at <= to]
        _span(db, said, due, since, to, tick if by_day(since) else to - since)
        db.commit()
        since = to
        tell(since)


def _next(since: datetime) -> datetime:
    """When the span that begins at `since` ends."""
    if by_day(since):
        return since + LOOKS_EVERY
    here = local(since, ZONE)
    day = here.date() if here.time() < MORNING else here.date() + timedelta(days=1)
    return to_utc(day, MORNING, ZONE)


def _span(
    db: Session,
    said: dict[Phone, list[Said]],
    acts: list[Act],
    since: datetime,
    to: datetime,
    tick: timedelta,
) -> None:
    """One span: what is done and said, and the jobs at each tick."""
    at = since
    while at < to:
        before, at = at, min(at + tick, to)
        for act in [act for act in acts if before < act.at <= at]:
            act.do(db, act.at)
        for phone, words in said.items():
            if now_said := [each for each in words if before < each.at <= at]:
                say(db, phone, now_said, at)
            show_reminders(db, phone, at)
        run_due(db, at)


def invented_phones(db: Session) -> list[Phone]:
    """The invented phones of the demo clinic, as its rows tell."""
    by_course = {(person.number, operated_on(person)): person for person in PEOPLE}
    rows = db.execute(
        select(Device, Course, Identifier.value)
        .join(Course, Course.patient_id == Device.patient_id)
        .join(Identifier, Identifier.patient_id == Device.patient_id)
        .join(Clinic, Clinic.id == Device.clinic_id)
        .where(Clinic.demo, Device.invented, Device.ended_at.is_(None))
        .order_by(Device.at, Course.at)
    )
    return [
        Phone(by_course[number, course.day_zero], course, device, course.day_zero)
        for device, course, number in rows
        if (number, course.day_zero) in by_course
    ]
