"""Clinics: settings, numbers, hours, closing days, duty and signed texts in force."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain import hours as h
from ..domain.course import Worn
from ..domain.errors import NotFound
from ..domain.settings import DEFAULTS
from ..domain.trouble import required_texts
from .base import newest_first, oldest_first
from .languages import ENGLISH
from .models import Clinic, ClinicHours, ClinicSetting, ClosingDay, Duty, Number, SignedText
from .staff import watchers

WeekRow = TypeVar("WeekRow", Number, ClinicHours, Duty)


def clinic_of(db: Session, clinic_id: uuid.UUID) -> Clinic:
    """The clinic of that id; NotFound otherwise."""
    found = db.get(Clinic, clinic_id)
    if found is None:
        raise NotFound("clinic")
    return found


def named(db: Session, name: str) -> Clinic:
    """The clinic of that name; NotFound otherwise."""
    found = db.scalars(select(Clinic).where(Clinic.name == name)).first()
    if found is None:
        raise NotFound("clinic")
    return found


def all_clinics(db: Session) -> list[Clinic]:
    return list(db.scalars(select(Clinic).order_by(Clinic.name)))


def setting(db: Session, clinic_id: uuid.UUID, key: str, now: datetime) -> Any:
    """The clinic's own value of a setting at `now`, else its default."""
    row = db.scalars(
        select(ClinicSetting)
        .where(
            ClinicSetting.clinic_id == clinic_id,
            ClinicSetting.key == key,
            ClinicSetting.valid_from <= now,
        )
        .order_by(ClinicSetting.valid_from.desc(), *newest_first(ClinicSetting))
    ).first()
    return DEFAULTS[key] if row is None else row.value["is"]


def settings(db: Session, clinic_id: uuid.UUID, now: datetime) -> dict[str, Any]:
    """Every setting in force at `now`, in one question: the clinic's own, else the default."""
    rows = db.execute(
        select(ClinicSetting.key, ClinicSetting.value)
        .where(ClinicSetting.clinic_id == clinic_id, ClinicSetting.valid_from <= now)
        .order_by(ClinicSetting.valid_from, ClinicSetting.at)
    )
    own = {key: value["is"] for key, value in rows if key in DEFAULTS}
    return {**DEFAULTS, **own}


def _newest_set(
    db: Session, row: type[WeekRow], clinic_id: uuid.UUID, now: datetime
) -> Sequence[WeekRow]:
    held = select(row).where(row.clinic_id == clinic_id, row.at <= now)
    newest = db.scalars(held.order_by(*newest_first(row))).first()
    if newest is None:
        return ()
    return db.scalars(
        held.where(row.set_id == newest.set_id).order_by(row.weekday, row.opens)
    ).all()


def numbers(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[h.NumberHours]:
    """The numbers to ring over the week, emergency apart."""
    rows = _newest_set(db, Number, clinic_id, now)
    return [
        h.NumberHours(r.weekday, r.opens, r.closes, r.label, r.tel)
        for r in rows
        if r.kind == "clinic"
    ]


def emergency(db: Session, clinic_id: uuid.UUID, now: datetime) -> tuple[str, str] | None:
    """Label and number of the emergency service; None until the clinic has named it."""
    for row in _newest_set(db, Number, clinic_id, now):
        if row.kind == "emergency":
            return row.label, row.tel
    return None


def hours(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[h.WeekHours]:
    """The clinic's opening hours."""
    rows = _newest_set(db, ClinicHours, clinic_id, now)
    return [h.WeekHours(r.weekday, r.opens, r.closes) for r in rows]


def duty(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[h.DutyHours]:
    """Who is on duty for trouble; an hour not named, or by whom has left, is 'nobody'.

    So is one of somebody whose place changed and who may not take up alerts any more.
    """
    rows = _newest_set(db, Duty, clinic_id, now)
    here = {who.id for who in watchers(db, clinic_id, now)} if rows else set()
    return [
        h.DutyHours(
            r.weekday, r.opens, r.closes,
            str(r.staff_id) if r.staff_id in here else None,
        )
        for r in rows
    ]  # fmt: skip


def closing_days(db: Session, clinic_id: uuid.UUID, now: datetime) -> frozenset[date]:
    """Days on which the clinic is closed; the newest row of a day decides."""
    rows = db.scalars(
        select(ClosingDay)
        .where(ClosingDay.clinic_id == clinic_id, ClosingDay.at <= now)
        .order_by(*oldest_first(ClosingDay))
    )
    latest = {row.day: row.withdrawn for row in rows}
    return frozenset(day for day, withdrawn in latest.items() if not withdrawn)


def closing(db: Session, clinic_id: uuid.UUID, now: datetime) -> h.Closing:
    """The closing days with the weekday whose numbers and duty they have."""
    as_weekday = int(setting(db, clinic_id, "closed_as_weekday", now))
    return h.Closing(closing_days(db, clinic_id, now), as_weekday)


def rings(db: Session, clinic_id: uuid.UUID, now: datetime, days: int = 14) -> list[h.Ring]:
    """Whom to ring from `now` on for `days` days, without a gap."""
    return h.ring(
        numbers(db, clinic_id, now),
        duty(db, clinic_id, now),
        clinic_of(db, clinic_id).zone,
        now,
        now + timedelta(days=days),
        closing(db, clinic_id, now),
    )


def duty_now(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[uuid.UUID]:
    """Staff on duty for trouble at `now`; empty in a 'nobody' hour."""
    zone = clinic_of(db, clinic_id).zone
    closed = closing(db, clinic_id, now)
    return [uuid.UUID(who) for who in h.on_duty(duty(db, clinic_id, now), zone, now, closed)]


def clock_starts(db: Session, clinic_id: uuid.UUID, now: datetime) -> datetime:
    """When the clock of a trouble alert opened at `now` starts: now, or the next opening."""
    if duty_now(db, clinic_id, now):
        return now
    return next_opening(db, clinic_id, now) or now


def next_opening(db: Session, clinic_id: uuid.UUID, now: datetime) -> datetime | None:
    """When the clinic is next open, `now` included; None where it has no hours."""
    zone = clinic_of(db, clinic_id).zone
    shut = closing_days(db, clinic_id, now)
    return h.next_opening(hours(db, clinic_id, now), zone, now, shut)


def clinic_day_after(db: Session, clinic_id: uuid.UUID, day: date, n: int, now: datetime) -> date:
    """The n-th clinic day after `day`."""
    shut = closing_days(db, clinic_id, now)
    return h.clinic_days_after(day, n, hours(db, clinic_id, now), shut)


def waking(db: Session, clinic_id: uuid.UUID, now: datetime) -> tuple[time, time]:
    """The clinic's own waking hours (wake, sleep), given to each patient at enrolment."""
    wake, sleep = (setting(db, clinic_id, f"waking.{k}", now) for k in ("wake", "sleep"))
    return time.fromisoformat(wake), time.fromisoformat(sleep)


def signed_texts(
    db: Session, clinic_id: uuid.UUID, language: str, now: datetime
) -> dict[str, SignedText]:
    """The texts in force by key: in `language` where it stands beside the English, else English.

    A translation stands as long as the English it was signed beside: once the clinic signs other
    English words under a key, the key is in English until its translation is signed again. Give
    the language of a phone (`languages.phone_language`): one that is off has no place on it.
    """
    rows = db.scalars(
        select(SignedText)
        .where(
            SignedText.clinic_id == clinic_id,
            SignedText.language.in_({ENGLISH, language}),
            SignedText.at <= now,
        )
        .order_by(*oldest_first(SignedText))
    ).all()
    english = {row.key: row for row in rows if row.language == ENGLISH}
    if language == ENGLISH:
        return english
    own = {row.key: row for row in rows if row.language == language}
    return english | {key: row for key, row in own.items() if _stands(row, rows, english)}


def _stands(own: SignedText, rows: Sequence[SignedText], english: Mapping[str, SignedText]) -> bool:
    """Whether the English has the words it had when its translation was signed."""
    beside = [
        row for row in rows
        if row.key == own.key and row.language == ENGLISH and row.at <= own.at
    ]  # fmt: skip
    return bool(beside) and beside[-1].lines == english[own.key].lines


def missing_texts(db: Session, clinic_id: uuid.UUID, worn: Worn | None, now: datetime) -> list[str]:
    """Keys of the English texts that must be signed before a phone is paired and are not."""
    signed = signed_texts(db, clinic_id, ENGLISH, now)
    return [key for key in required_texts(worn) if key not in signed]


def missing_for_phones(
    db: Session, clinic_id: uuid.UUID, worn: Worn | None, now: datetime
) -> list[str]:
    """What the clinic still owes before any phone is paired, a sentence each."""
    gaps = h.missing_hours(numbers(db, clinic_id, now))
    said = [f"No number to ring: {gap.words}." for gap in gaps]
    if emergency(db, clinic_id, now) is None:
        said.append("No emergency number.")
    unsigned = missing_texts(db, clinic_id, worn, now)
    return said + [f"Text not signed: {key}." for key in unsigned]
