"""Patients: looked up by name, number or birth date; contacts and phones in force."""

from __future__ import annotations

import re
import unicodedata
import uuid
from collections.abc import Iterable
from datetime import date, datetime
from difflib import SequenceMatcher

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from .base import newest_first, oldest_first
from .models import Consent, Contact, Device, Identifier, Pairing, Patient

ALIKE = 0.8  # ratio of matching letters at which two names may be one person's; from memory
FOUND_AT_MOST = 50


def identifiers(db: Session, patient_id: uuid.UUID) -> list[Identifier]:
    return list(
        db.scalars(
            select(Identifier)
            .where(Identifier.patient_id == patient_id)
            .order_by(*oldest_first(Identifier))
        )
    )


def number_of(db: Session, patient_id: uuid.UUID) -> str | None:
    """The patient's hospital number, the newest; None while it is not known."""
    known = [i.value for i in identifiers(db, patient_id) if i.kind == "hospital"]
    return known[-1] if known else None


def plain_number(value: str) -> str:
    """A number as it is compared: capitals, no spaces, no dashes."""
    return re.sub(r"[\s\-]", "", value).upper()


def _column_plain() -> ColumnElement[str]:
    upper = func.upper(Identifier.value)
    return func.replace(func.replace(upper, " ", ""), "-", "")


def with_number(db: Session, clinic_id: uuid.UUID | None, number: str) -> list[Patient]:
    """Patients with that number; of every clinic where clinic_id is None (pairing by code)."""
    wanted = (
        select(Patient)
        .join(Identifier, Identifier.patient_id == Patient.id)
        .where(_column_plain() == plain_number(number))
    )
    if clinic_id is not None:
        wanted = wanted.where(Patient.clinic_id == clinic_id)
    return list(db.scalars(wanted.distinct()))


def alike(
    db: Session, clinic_id: uuid.UUID, name: str, born: date, number: str | None
) -> list[Patient]:
    """Who may be the same person: the same number, or the birth date and a similar name."""
    found = {p.id: p for p in with_number(db, clinic_id, number)} if number else {}
    same_day = select(Patient).where(Patient.clinic_id == clinic_id, Patient.born == born)
    found |= {p.id: p for p in db.scalars(same_day) if similar(p.name, name)}
    return sorted(found.values(), key=lambda p: p.name)


def similar(one: str, other: str) -> bool:
    """Whether two names may be one person's: accents, case and the order of words aside."""
    first, second = _letters(one), _letters(other)
    if set(first.split()) <= set(second.split()) or set(second.split()) <= set(first.split()):
        return bool(first and second)
    return SequenceMatcher(None, first, second).ratio() >= ALIKE


def _letters(name: str) -> str:
    bare = unicodedata.normalize("NFKD", name.casefold())
    words = re.findall(r"\w+", "".join(c for c in bare if not unicodedata.combining(c)))
    return " ".join(sorted(words))


def find(db: Session, clinic_id: uuid.UUID, words: str) -> list[Patient]:
    """Patients whose name, number or birth date holds `words`, by name, at most 50."""
    words = words.strip()
    if not words:
        return []
    here = select(Patient).where(Patient.clinic_id == clinic_id)
    born = read_day(words)
    if born is not None:
        here = here.where(Patient.born == born)
    else:
        named = Patient.name.icontains(words, autoescape=True)
        numbered = select(Identifier.patient_id).where(
            Identifier.clinic_id == clinic_id,
            _column_plain().contains(plain_number(words) or words, autoescape=True),
        )
        here = here.where(named | Patient.id.in_(numbered))
    return list(db.scalars(here.order_by(Patient.name, Patient.id).limit(FOUND_AT_MOST)))


def read_day(words: str) -> date | None:
    """A date typed as 1968-03-04, 4.3.1968 or 4/3/1968 (day first); None otherwise."""
    iso = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", words)
    day_first = re.fullmatch(r"(\d{1,2})[./ ](\d{1,2})[./ ](\d{4})", words)
    parts = iso.groups() if iso else day_first.groups()[::-1] if day_first else None
    try:
        return date(*map(int, parts)) if parts else None
    except ValueError:
        return None


def contacts(db: Session, patient_id: uuid.UUID, now: datetime) -> dict[str, Contact]:
    """The newest contact of 'patient' and of 'carer'."""
    rows = db.scalars(
        select(Contact)
        .where(Contact.patient_id == patient_id, Contact.at <= now)
        .order_by(*oldest_first(Contact))
    )
    return {row.whose: row for row in rows}


def consent(db: Session, patient_id: uuid.UUID, now: datetime) -> Consent | None:
    """The newest consent recorded."""
    return db.scalars(
        select(Consent)
        .where(Consent.patient_id == patient_id, Consent.at <= now)
        .order_by(*newest_first(Consent))
    ).first()


def devices(db: Session, patient_id: uuid.UUID) -> list[Device]:
    """The patient's phones, ended ones too, oldest first."""
    return list(
        db.scalars(
            select(Device).where(Device.patient_id == patient_id).order_by(*oldest_first(Device))
        )
    )


def paired(db: Session, patient_id: uuid.UUID) -> list[Device]:
    """The phones still paired."""
    return [d for d in devices(db, patient_id) if d.ended_at is None]


def device_by_token(db: Session, token_hash: bytes) -> Device | None:
    """The phone that holds a token, revoked ones too (say so); None for an unknown token."""
    return db.scalars(select(Device).where(Device.token_hash == token_hash)).first()


def pairing_by_secret(db: Session, secret_hash: bytes) -> Pairing | None:
    return db.scalars(select(Pairing).where(Pairing.secret_hash == secret_hash)).first()


def pairing_of_device(db: Session, device_id: uuid.UUID) -> Pairing | None:
    """The invitation by which a phone was paired."""
    return db.scalars(select(Pairing).where(Pairing.device_id == device_id)).first()


def pairings_of(db: Session, patient_ids: Iterable[uuid.UUID]) -> list[Pairing]:
    """Every invitation of these patients, newest first."""
    return list(
        db.scalars(
            select(Pairing)
            .where(Pairing.patient_id.in_(list(patient_ids)))
            .order_by(Pairing.expires_at.desc())
        )
    )
