"""Everything 'who is woken now' rests on, in one query: it stands on every page staff look at."""

from __future__ import annotations

import json
import uuid
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any

from sqlalchemy import String, and_, cast, func, literal, null, or_, select, union_all
from sqlalchemy.orm import Session, aliased

from ..domain.alert.routing import Week
from ..domain.alert.settings import WHOLE_CLINIC, ClinicSetting, clinic_setting
from ..domain.hours import Closing, DutyHours, WeekHours
from ..domain.settings import DEFAULTS
from . import models
from .models import (
    AlertSetting,
    ClinicHours,
    ClosingDay,
    Duty,
    NoticeTry,
    Staff,
    StaffSubscription,
)
from .staff import may_watch

Setting = models.ClinicSetting
WIDTH = 5  # columns of each part, beside its name
Part = Any  # a Select of WIDTH + 1 texts
Parts = dict[str, list[Sequence[str | None]]]


@dataclass(frozen=True, slots=True)
class Known:
    """The parts as domain values."""

    week: Week
    whole: ClinicSetting
    staff: dict[str, tuple[str, bool]]  # id -> name, whether with e-mail; who is on the rota
    subscribed: frozenset[str]
    failing: list[tuple[str, datetime, str]]  # channel, since, error


def known(db: Session, clinic_id: uuid.UUID, zone: str, now: datetime) -> Known:
    """What holds at `now`; `zone` is the clinic's."""
    asked = union_all(
        _week("duty", Duty, clinic_id, now, Duty.staff_id),
        _week("hours", ClinicHours, clinic_id, now, null()),
        _closing_days(clinic_id, now),
        _setting(clinic_id, now),
        _whole(clinic_id, now),
        _on_rota(clinic_id, now),
        _subscribed(clinic_id),
        _failing(clinic_id, now),
    )
    parts: Parts = defaultdict(list)
    for row in db.execute(asked):
        parts[row[0]].append(row[1:])
    return Known(
        week=_read_week(parts, zone),
        whole=clinic_setting(_newest(parts["whole"])),
        staff={_id(key): (name or "", bool(mail)) for key, name, mail, *_ in parts["staff"]},
        subscribed=frozenset(_id(key) for key, *_ in parts["subscribed"]),
        failing=[
            (channel or "", _instant(at), detail or "")
            for channel, at, detail, *_ in sorted(parts["failing"], key=str)
        ],
    )


def _row(what: str, *columns: Any) -> Any:
    """A part's rows as text, filled up to one width."""
    filled = [*columns, *[null()] * (WIDTH - len(columns))]
    return select(literal(what), *(cast(each, String) for each in filled))


def _week(
    what: str, row: type[Duty] | type[ClinicHours], clinic_id: uuid.UUID, now: datetime, who: Any
) -> Part:
    held = aliased(row)
    newest = (
        select(held.set_id)
        .where(held.clinic_id == clinic_id, held.at <= now)
        .order_by(held.at.desc())
        .limit(1)
        .scalar_subquery()
    )
    return _row(what, row.weekday, row.opens, row.closes, who).where(
        row.clinic_id == clinic_id, row.set_id == newest
    )


def _closing_days(clinic_id: uuid.UUID, now: datetime) -> Part:
    withdrawn = cast(ClosingDay.withdrawn, String)
    return _row("closing", ClosingDay.day, withdrawn, ClosingDay.at).where(
        ClosingDay.clinic_id == clinic_id, ClosingDay.at <= now
    )


def _setting(clinic_id: uuid.UUID, now: datetime) -> Part:
    return _row("setting", Setting.value, Setting.valid_from, Setting.at).where(
        Setting.clinic_id == clinic_id, Setting.key == "closed_as_weekday",
        Setting.valid_from <= now,
    )  # fmt: skip


def _whole(clinic_id: uuid.UUID, now: datetime) -> Part:
    return _row("whole", AlertSetting.value, AlertSetting.at).where(
        AlertSetting.clinic_id == clinic_id, AlertSetting.kind == WHOLE_CLINIC,
        AlertSetting.at <= now,
    )  # fmt: skip


def _on_rota(clinic_id: uuid.UUID, now: datetime) -> Part:
    rota = select(Duty.staff_id).where(Duty.clinic_id == clinic_id)
    return _row("staff", Staff.id, Staff.name, Staff.email).where(
        Staff.clinic_id == clinic_id, Staff.id.in_(rota),
        or_(Staff.ended_at.is_(None), Staff.ended_at > now), may_watch(clinic_id, now),
    )  # fmt: skip


def _subscribed(clinic_id: uuid.UUID) -> Part:
    return _row("subscribed", StaffSubscription.staff_id).where(
        StaffSubscription.clinic_id == clinic_id, StaffSubscription.dead_at.is_(None)
    )


def _failing(clinic_id: uuid.UUID, now: datetime) -> Part:
    """Per channel: the first failure after its last success, and the newest error."""
    later, newest = aliased(NoticeTry), aliased(NoticeTry)
    mended = select(later.id).where(
        later.clinic_id == clinic_id, later.channel == NoticeTry.channel, later.what == "sent",
        later.at >= NoticeTry.at, later.at <= now,
    )  # fmt: skip
    error = (
        select(newest.detail)
        .where(
            newest.clinic_id == clinic_id, newest.channel == NoticeTry.channel,
            newest.what == "failed", newest.at <= now,
        )
        .order_by(newest.at.desc())
        .limit(1)
        .correlate(NoticeTry)
        .scalar_subquery()
    )  # fmt: skip
    return (
        _row("failing", NoticeTry.channel, func.min(NoticeTry.at), error)
        .where(
            and_(
                NoticeTry.clinic_id == clinic_id, NoticeTry.what == "failed", NoticeTry.at <= now,
                ~mended.correlate(NoticeTry).exists(),
            )
        )
        .group_by(NoticeTry.channel)
    )  # fmt: skip


def _read_week(parts: Parts, zone: str) -> Week:
    days = {day: said for day, said, _ in sorted(_three(parts["closing"]), key=lambda r: r[2])}
    shut = frozenset(date.fromisoformat(day) for day, said in days.items() if not _true(said))
    kept = max(((_instant(v), _instant(a), value) for value, v, a in _three(parts["setting"])),
               default=None)  # fmt: skip
    as_weekday = json.loads(kept[2])["is"] if kept else DEFAULTS["closed_as_weekday"]
    return Week(
        zone=zone,
        hours=[WeekHours(int(d or 0), _time(o), _time(c)) for d, o, c, *_ in parts["hours"]],
        duty=[
            DutyHours(int(d or 0), _time(o), _time(c), _id(who) if who else None)
            for d, o, c, who, *_ in parts["duty"]
        ],
        closing=Closing(shut, int(as_weekday)),
    )


def _three(rows: Sequence[Sequence[str | None]]) -> list[tuple[str, str, str]]:
    return [(one or "", two or "", three or "") for one, two, three, *_ in rows]


def _newest(rows: Sequence[Sequence[str | None]]) -> dict[str, Any] | None:
    if not rows:
        return None
    value = max(rows, key=lambda row: _instant(row[1]))[0]
    return dict(json.loads(value or "{}"))


def _id(said: str | None) -> str:
    return str(uuid.UUID(said))


def _time(said: str | None) -> time:
    return time.fromisoformat(said or "00:00")


def _true(said: str) -> bool:
    return said.lower() in ("1", "true", "t")


def _instant(said: str | None) -> datetime:
    """An instant as either database writes it; without an offset it is UTC."""
    read = datetime.fromisoformat(said or "")
    return read.replace(tzinfo=UTC) if read.tzinfo is None else read.astimezone(UTC)
