"""What deciding whom to tell needs of a clinic: its week, its people, and the alerts that wait."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import Session

from ..domain.alert.kinds import TROUBLE
from ..domain.alert.routing import People, Standing, Told, Week, covering
from ..domain.alert.settings import ClinicSetting, KindSetting, kind_setting
from . import clinics, staff
from .alert_settings import settings_of, whole_clinic
from .models import Alert, AlertEvent, CourseFact, Cover, Notice, Staff

MOVES = ("raised", "taken_up", "handed_back")
TELLS = ("first", "next", "manager", "raised")  # notices of one alert; not digests and tests


@dataclass(frozen=True, slots=True)
class House:
    """A clinic as far as telling goes, read once a pass."""

    clinic_id: uuid.UUID
    week: Week
    settings: Mapping[str, KindSetting]
    whole: ClinicSetting
    members: Mapping[str, Staff]  # by id as text; who still works here
    covers: Mapping[str, str]
    clinicians: frozenset[str] = frozenset()  # ids as text

    @property
    def watchers(self) -> frozenset[str]:
        """Who may take alerts up; nobody else is told of them, whatever list names them."""
        roles = {key for key, who in self.members.items() if who.role in staff.WATCHERS}
        return frozenset(roles | self.clinicians)

    def seen_to(self, alert: Alert, taken_by: str | None) -> bool:
        """Whether an alert that was taken up is told no further.

        Trouble needs a clinician: whoever else has it in hand may not settle it, nor advise.
        """
        if alert.state != "taken_up":
            return False
        return alert.kind not in TROUBLE or taken_by in self.clinicians

    def setting(self, kind: str) -> KindSetting:
        return self.settings.get(kind) or kind_setting(kind, None)

    def people(self, kind: str, therapist: str | None, taken_by: str | None = None) -> People:
        """Who may be told of an alert of a course with this responsible therapist."""
        named = self.setting(kind).people
        listed = self.whole.people if named is None else named
        return People(
            therapist=covering(therapist, self.covers, self.watchers),
            listed=tuple(each for each in listed if each in self.watchers),
            managers=tuple(k for k, who in self.members.items() if who.role == "manager"),
            taken_by=taken_by if taken_by in self.members else None,
        )

    def duty(self, now: datetime) -> tuple[str, ...]:
        """Staff on duty for trouble who still work here."""
        return tuple(each for each in self.week.on_duty(now) if each in self.watchers)


def house(db: Session, clinic_id: uuid.UUID, now: datetime) -> House:
    """The clinic's settings, week and people at `now`."""
    covers = db.execute(
        select(Cover.staff_id, Cover.covered_by_id)
        .where(Cover.clinic_id == clinic_id, Cover.starts <= now, Cover.ends > now, Cover.at <= now)
        .order_by(Cover.at, Cover.id)
    )
    return House(
        clinic_id=clinic_id,
        week=week(db, clinic_id, now),
        settings=settings_of(db, clinic_id, now),
        whole=whole_clinic(db, clinic_id, now),
        members={str(who.id): who for who in staff.members(db, clinic_id, now)},
        covers={str(who): str(by) for who, by in covers},
        clinicians=frozenset(str(who.id) for who in staff.clinicians(db, clinic_id, now)),
    )


def week(db: Session, clinic_id: uuid.UUID, now: datetime) -> Week:
    """When the clinic is open and who is on duty."""
    return Week(
        zone=clinics.clinic_of(db, clinic_id).zone,
        hours=clinics.hours(db, clinic_id, now),
        duty=clinics.duty(db, clinic_id, now),
        closing=clinics.closing(db, clinic_id, now),
    )


@dataclass(frozen=True, slots=True)
class Waiting:
    """An alert about which somebody may have to be told."""

    alert: Alert
    standing: Standing
    therapist: str | None
    taken_by: str | None
    told: Told


def waiting(db: Session, there: House, now: datetime) -> list[Waiting]:
    """The alerts nobody has taken up, and those that have been; 'this week' kinds apart."""
    rows = list(
        db.scalars(
            select(Alert)
            .where(
                Alert.clinic_id == there.clinic_id,
                Alert.at <= now,
                or_(
                    Alert.state == "taken_up",
                    and_(
                        Alert.state == "open",
                        or_(Alert.level != "this_week", Alert.kind.in_(TROUBLE)),
                    ),
                ),
            )
            .order_by(Alert.at, Alert.id)
        )
    )
    moves, notices = _moves(db, rows, now), _notices(db, rows)
    therapists = therapists_of(db, {row.course_id for row in rows}, now)
    return [
        _waiting(row, moves[row.id], notices[row.id], therapists.get(row.course_id), there)
        for row in rows
    ]


def _waiting(
    row: Alert,
    moves: Mapping[str, AlertEvent],
    notices: Iterable[Notice],
    therapist: str | None,
    there: House,
) -> Waiting:
    raised, taken = moves.get("raised"), moves.get("taken_up")
    by = _text(taken.by_id) if taken else None
    standing = Standing(
        kind=row.kind, level=row.level, taken_up=there.seen_to(row, by), opened=row.at,
        clock_starts=row.clock_starts, raised=raised.at if raised else None,
        taken_at=taken.at if taken else None,
        handed_back=handed.at if (handed := moves.get("handed_back")) else None,
    )  # fmt: skip
    urgent = row.level == "now" or row.kind in TROUBLE
    told = told_since(notices, standing.since, there.whole.webhook_wakes, urgent)
    return Waiting(row, standing, therapist, by, told)


def told_since(
    notices: Iterable[Notice], since: datetime, webhook_wakes: bool, urgent: bool
) -> Told:
    """Who was told since an instant, and when last by a way that may have reached them.

    Of what is urgent a notice whose try failed counts no more: the next person is told at once,
    while it is tried again.
    """
    counted = [each for each in notices if each.at >= since]

    def reaches(each: Notice) -> bool:
        if each.state == "failed" or (each.channel == "webhook" and not webhook_wakes):
            return False
        return not urgent or each.state == "sent" or each.outcome is None

    people = frozenset(str(each.staff_id) for each in counted)
    return Told(people, max((each.at for each in counted if reaches(each)), default=None))


def _moves(
    db: Session, rows: Collection[Alert], now: datetime
) -> dict[uuid.UUID, dict[str, AlertEvent]]:
    """The last 'raised', 'taken_up' and 'handed_back' of each alert."""
    found: dict[uuid.UUID, dict[str, AlertEvent]] = {row.id: {} for row in rows}
    query = select(AlertEvent).where(
        AlertEvent.alert_id.in_(found), AlertEvent.what.in_(MOVES),
        AlertEvent.at <= now,
    )  # fmt: skip
    for event in db.scalars(query.order_by(AlertEvent.at, AlertEvent.id)):
        found[event.alert_id][event.what] = event
    return found


def _notices(db: Session, rows: Collection[Alert]) -> dict[uuid.UUID, list[Notice]]:
    found: dict[uuid.UUID, list[Notice]] = {row.id: [] for row in rows}
    query = select(Notice).where(Notice.alert_id.in_(found), Notice.why.in_(TELLS))
    for notice in db.scalars(query):
        if notice.alert_id is not None:
            found[notice.alert_id].append(notice)
    return found


def therapists_of(
    db: Session, course_ids: Collection[uuid.UUID], now: datetime
) -> dict[uuid.UUID, str | None]:
    """The responsible therapist of each course, as its facts name them."""
    rows = db.execute(
        select(CourseFact.course_id, CourseFact.value)
        .where(
            CourseFact.course_id.in_(course_ids), CourseFact.what == "therapist",
            CourseFact.at <= now,
        )
        .order_by(CourseFact.at, CourseFact.id)
    )  # fmt: skip
    return {course: _is(value) for course, value in rows}


def _is(value: Mapping[str, Any]) -> str | None:
    said = value.get("is")
    return str(said) if said else None


def _text(key: uuid.UUID | None) -> str | None:
    return str(key) if key else None
