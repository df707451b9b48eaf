"""Prompts of one patient: the rows a plan is kept in."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import and_, bindparam, exists, func, or_, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from .base import Row
from .models import (
    BoutRow,
    Course,
    Device,
    Patient,
    Prompt,
    PromptEvent,
    PromptSend,
    PromptSlot,
    Subscription,
)

SlotKey = tuple[uuid.UUID, str, datetime]  # course, exercise, slot start


def locked_patient(db: Session, patient_id: uuid.UUID) -> Patient:
    """The patient, held until the transaction ends: one plan at a time is made for them."""
    return db.scalars(
        select(Patient).where(Patient.id == patient_id).with_for_update(key_share=True)
    ).one()


def insert_or_nothing(db: Session, model: type[Row], rows: Sequence[dict[str, Any]]) -> None:
    """Insert rows; one whose unique key is there already is left as it is."""
    if not rows:
        return
    dialect = sqlite if db.get_bind().dialect.name == "sqlite" else postgresql
    db.execute(dialect.insert(model).on_conflict_do_nothing(), rows)


def by_due(
    db: Session, patient_id: uuid.UUID, dues: Collection[datetime]
) -> dict[datetime, Prompt]:
    """The patient's prompts that fall due at these instants."""
    found = db.scalars(
        select(Prompt).where(Prompt.patient_id == patient_id, Prompt.due_at.in_(dues))
    )
    return {prompt.due_at: prompt for prompt in found}


def standing(
    db: Session, patient_id: uuid.UUID, since: datetime, until: datetime
) -> Sequence[Prompt]:
    """Prompts due in [since, until) that are not withdrawn; a test reminder, of no slot, apart."""
    return db.scalars(
        select(Prompt).where(
            Prompt.patient_id == patient_id,
            Prompt.due_at >= since,
            Prompt.due_at < until,
            Prompt.withdrawn_at.is_(None),
            exists().where(PromptSlot.prompt_id == Prompt.id),
        )
    ).all()


def slots_from(
    db: Session, courses: Iterable[uuid.UUID], since: datetime
) -> dict[SlotKey, PromptSlot]:
    """What is kept of the courses' slots that start at or after `since`."""
    found = db.scalars(
        select(PromptSlot).where(
            PromptSlot.course_id.in_(list(courses)), PromptSlot.slot_start >= since
        )
    )
    return {(slot.course_id, slot.exercise, slot.slot_start): slot for slot in found}


def unanswered(db: Session, patient_id: uuid.UUID, before: datetime) -> int:
    """How many reminders in a row, the latest due before `before`, were sent and not answered.

    A log of anything, or a tap on a reminder, is an answer. None older than a week is counted.
    """
    newest = (db.scalars(query, {"patient": patient_id}).first() for query in (_LOGGED, _TAPPED))
    answered = [at for at in newest if at is not None]
    sent = exists().where(PromptSend.prompt_id == Prompt.id, PromptSend.state == "sent")
    return db.scalars(
        select(func.count(Prompt.id)).where(
            Prompt.patient_id == patient_id,
            Prompt.due_at < before,
            Prompt.due_at > max([before - timedelta(days=7), *answered]),
            exists().where(PromptSlot.prompt_id == Prompt.id),
            sent,
        )
    ).one()


_LOGGED = (
    select(BoutRow.entered_at)
    .join(Course, Course.id == BoutRow.course_id)
    .where(Course.patient_id == bindparam("patient"))
    .order_by(BoutRow.entered_at.desc())
    .limit(1)
)
_TAPPED = (
    select(PromptEvent.at)
    .join(PromptSend, PromptSend.id == PromptEvent.send_id)
    .join(Prompt, Prompt.id == PromptSend.prompt_id)
    .where(Prompt.patient_id == bindparam("patient"), PromptEvent.what == "tapped")
    .order_by(PromptEvent.at.desc())
    .limit(1)
)


def is_test(db: Session, prompt_id: uuid.UUID) -> bool:
    """Whether a prompt is a test reminder: one of no slot."""
    return not db.scalar(select(exists().where(PromptSlot.prompt_id == prompt_id)))


def last_test(db: Session, device_id: uuid.UUID, since: datetime) -> PromptSend | None:
    """The phone's newest test reminder made at `since` or later."""
    return db.scalars(
        select(PromptSend)
        .where(
            PromptSend.device_id == device_id,
            PromptSend.at >= since,
            ~exists().where(PromptSlot.prompt_id == PromptSend.prompt_id),
        )
        .order_by(PromptSend.at.desc(), PromptSend.id)
        .limit(1)
    ).first()


def phones_with_push(db: Session, patient_id: uuid.UUID) -> Sequence[uuid.UUID]:
    """Paired phones a reminder can reach: by a live subscription, or invented and willing."""
    live = exists().where(Subscription.device_id == Device.id, Subscription.dead_at.is_(None))
    return db.scalars(
        select(Device.id).where(
            Device.patient_id == patient_id,
            Device.ended_at.is_(None),
            or_(and_(Device.invented, Device.push_state == "granted"), live),
        )
    ).all()


def add_sends(
    db: Session,
    prompts: Mapping[uuid.UUID, datetime],
    phones: Iterable[uuid.UUID],
    clinic_id: uuid.UUID,
    now: datetime,
) -> None:
    """One send for each prompt (id -> due_at) and phone, unless it is there."""
    rows = [
        {"prompt_id": prompt, "device_id": phone, "due_at": due, "at": now, "clinic_id": clinic_id}
        for phone in phones
        for prompt, due in prompts.items()
    ]
    insert_or_nothing(db, PromptSend, rows)
