"""Languages a clinic has signed off for phones.

English is on from the start: it is what the rest is read beside. Its buttons ship with the app,
its texts are signed one by one like any other.
"""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from .base import oldest_first
from .models import Device, LanguageStep, Patient

ENGLISH = "en"


def newest_steps(db: Session, clinic_id: uuid.UUID, now: datetime) -> dict[str, LanguageStep]:
    """The last step of each language that was ever signed off, by its code."""
    rows = db.scalars(
        select(LanguageStep)
        .where(LanguageStep.clinic_id == clinic_id, LanguageStep.at <= now)
        .order_by(*oldest_first(LanguageStep))
    )
    return {row.language: row for row in rows}


def signed_off(
    db: Session, clinic_id: uuid.UUID, language: str, now: datetime
) -> LanguageStep | None:
    """The sign-off in force; None while the language is off, and of English."""
    step = newest_steps(db, clinic_id, now).get(language)
    return step if step is not None and step.step == "signed_off" else None


def languages_on(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[str]:
    """The languages a phone may speak, English first."""
    steps = newest_steps(db, clinic_id, now)
    return [ENGLISH, *sorted(code for code, row in steps.items() if row.step == "signed_off")]


def phone_language(db: Session, clinic_id: uuid.UUID, wanted: str, now: datetime) -> str:
    """`wanted` where it is on, else English: an unreviewed language is never on a phone."""
    return wanted if wanted in languages_on(db, clinic_id, now) else ENGLISH


def language_of(db: Session, device: Device, now: datetime) -> str:
    """What a phone speaks: what was chosen on it, else the patient's, if it is on."""
    wanted = device.language or db.get_one(Patient, device.patient_id).language
    return phone_language(db, device.clinic_id, wanted, now)
