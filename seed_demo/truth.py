"""What the invented patients truly did, and which alerts told of it: the generator's own truth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.alert import is_trouble
from homeprog.domain.clock import local
from homeprog.storage.courses import closed
from homeprog.storage.models import Alert, Clinic, Course, Identifier

from . import behaviour
from .people import PEOPLE, ZONE, Kind, Person, operated_on
from .staff_days import workday

PER_PATIENTS = 30  # the load is told for so many open courses
FIRST_EXERCISE = 5


@dataclass(frozen=True)
class Truth:
    """Something that is so from a course day on, and the kinds of alert that tell of it."""

    since: int
    kinds: tuple[str, ...]


TROUBLE = ("trouble", "exercise_while_stopped")
FEWER = ("few_logged", "silence", "reminders_not_arriving")
TRUTHS: Mapping[Kind, Truth] = {
    "fading": Truth(behaviour.FADES_FROM, FEWER),
    "stops": Truth(behaviour.SILENT_FROM, (*FEWER, "no_contact")),
    "puts_it_down": Truth(behaviour.PUT_DOWN_FROM, FEWER),
    "over_does": Truth(FIRST_EXERCISE, ("excess",)),
    "phone_dies": Truth(behaviour.PHONE_DEAD.start, ("no_contact", "plan_not_received")),
    "locked_away": Truth(behaviour.AT_WORK_FROM, FEWER),
    "pain_rises": Truth(behaviour.PAIN_FROM, ("pain_rise", "average_pain", "second_pain")),
    "never_starts": Truth(FIRST_EXERCISE, (*FEWER, "not_started", "no_contact")),
    "bedtime": Truth(FIRST_EXERCISE, ("entered_later", *FEWER)),
    "splint_off": Truth(behaviour.SPLINT_OFF_FROM, ("splint_off",)),
    "band_slack": Truth(15, TROUBLE),
    "trouble": Truth(16, TROUBLE),
    "reoperated": Truth(22, TROUBLE),
}
# Facts of the clinic's or the phone's, no guesses: neither true nor false of a behaviour.
FACTS = frozenset({
    "phase_not_released", "visit_missed", "plan_not_received", "release_lapsed", "not_yet",
})  # fmt: skip


@dataclass(frozen=True)
class Told:
    """One alert of one course."""

    kind: str
    day: int  # course day, by the clinic's midnight


@dataclass(frozen=True)
class Row:
    """What one invented patient did, and what was told of it."""

    person: Person
    days: int  # days from the first exercise to the closing, or now
    told: tuple[Told, ...]

    @property
    def truth(self) -> Truth | None:
        return TRUTHS.get(self.person.kind)

    def _true(self, told: Told) -> bool:
        return self.truth is not None and (
            told.kind in self.truth.kinds and told.day >= self.truth.since
        )

    @property
    def true(self) -> list[Told]:
        return [told for told in self.told if self._true(told)]

    @property
    def false(self) -> list[Told]:
        return [told for told in self.told if not self._true(told) and told.kind not in FACTS]


def rows(db: Session, now: datetime) -> list[Row]:
    """Every invented patient with a phone, in the order of their operations."""
    found = dict(_courses(db))
    return [_row(db, person, found[person], now) for person in PEOPLE if person in found]


def _courses(db: Session) -> Iterator[tuple[Person, Course]]:
    people = {(person.number, operated_on(person)): person for person in PEOPLE}
    query = (
        select(Identifier.value, Course)
        .join(Course, Course.patient_id == Identifier.patient_id)
        .join(Clinic, Clinic.id == Course.clinic_id)
        .where(Clinic.demo)
    )
    for number, course in db.execute(query):
        if (number, course.day_zero) in people:
            yield people[number, course.day_zero], course


def _row(db: Session, person: Person, course: Course, now: datetime) -> Row:
    ended = closed(db, course, now)
    days = _day(course, ended.at if ended else now) - FIRST_EXERCISE
    alerts = db.scalars(
        select(Alert).where(Alert.course_id == course.id, Alert.at <= now).order_by(Alert.at)
    )
    return Row(person, max(0, days), tuple(Told(a.kind, _day(course, a.at)) for a in alerts))


def _day(course: Course, at: datetime) -> int:
    return (local(at, ZONE).date() - course.day_zero).days


def table(found: Sequence[Row]) -> Iterator[str]:
    """The table, a line each: behaviour, what told of it and when, what was false."""
    yield f"{'patient':16} {'behaviour':13} {'from':>5}  told by, on day (days later)"
    for row in found:
        since = f"{row.truth.since:5}" if row.truth else "    -"
        yield f"{row.person.name:16} {row.person.kind:13} {since}  {_said(row)}"
    yield ""
    yield from _sums(found)


def _said(row: Row) -> str:
    first: dict[str, Told] = {}
    for told in row.true:
        first.setdefault(told.kind, told)
    since = row.truth.since if row.truth else 0
    parts = [f"{kind} {told.day} (+{told.day - since})" for kind, told in first.items()]
    if (more := len(row.true) - len(first)) > 0:
        parts.append(f"{more} more")
    if not parts and row.truth:
        parts.append("NOT TOLD")
    parts += [f"false: {told.kind} {told.day}" for told in row.false]
    parts += [f"fact: {told.kind} {told.day}" for told in row.told if told.kind in FACTS]
    return ", ".join(parts) or "nothing"


def _sums(found: Sequence[Row]) -> Iterator[str]:
    days = sum(row.days for row in found)
    false = sum(len(row.false) for row in found)
    told = [told for row in found for told in row.told if not is_trouble(told.kind)]
    true = sum(1 for row in found if row.truth and row.true)
    yield f"behaviours told of: {true} of {sum(1 for row in found if row.truth)}"
    yield f"false alarms: {false} in {days} patient-days (budget: 1 in 75)"
    per = PER_PATIENTS * len(told) / _clinic_patient_days(found)
    yield f"alerts, trouble apart: {len(told)}; {per:.2f} a clinic day per {PER_PATIENTS} patients"


def _clinic_patient_days(found: Sequence[Row]) -> int:
    """Clinic days summed over the open courses."""

    def open_days(row: Row) -> Iterator[date]:
        first = operated_on(row.person)
        return (first + timedelta(days=n) for n in range(row.days + FIRST_EXERCISE))

    return sum(workday(day) == day for row in found for day in open_days(row)) or 1
