"""Staff: who they are, the mark 'clinician', and who is signed in."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from .models import Clinic, Staff, StaffMark, StaffSession


def by_sign_in(db: Session, sign_in: str) -> Staff | None:
    """The staff member of that sign-in, of whatever clinic; None if there is none."""
    return db.scalars(select(Staff).where(Staff.sign_in == sign_in.strip().lower())).first()


def profession(db: Session, staff_id: uuid.UUID, now: datetime) -> str | None:
    """The profession of the clinician's mark in force; None for anybody else."""
    return db.scalars(
        select(StaffMark.profession)
        .where(StaffMark.staff_id == staff_id, *_in_force(now))
        .order_by(StaffMark.valid_from.desc(), StaffMark.at.desc(), StaffMark.id.desc())
    ).first()


def marks(db: Session, staff_id: uuid.UUID, now: datetime) -> list[StaffMark]:
    """The clinician's marks in force: one, or none."""
    return list(
        db.scalars(select(StaffMark).where(StaffMark.staff_id == staff_id, *_in_force(now)))
    )


def _in_force(now: datetime) -> tuple[ColumnElement[bool], ...]:
    over = or_(StaffMark.valid_to.is_(None), StaffMark.valid_to > now)
    return StaffMark.valid_from <= now, over


def members(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Staff]:
    """The clinic's staff who still work there, by name."""
    return list(db.scalars(_members(clinic_id, now)))


def _members(clinic_id: uuid.UUID, now: datetime) -> Any:
    here = Staff.clinic_id == clinic_id, or_(Staff.ended_at.is_(None), Staff.ended_at > now)
    return select(Staff).where(*here).order_by(Staff.name, Staff.id)


def clinicians(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Staff]:
    """The clinic's clinicians, by name."""
    marked = select(StaffMark.staff_id).where(StaffMark.clinic_id == clinic_id, *_in_force(now))
    return list(db.scalars(_members(clinic_id, now).where(Staff.id.in_(marked))))


WATCHERS = ("therapist", "manager")  # roles that see to alerts; so does every clinician


def watchers(db: Session, clinic_id: uuid.UUID, now: datetime) -> list[Staff]:
    """Who may take up alerts in the clinic, by name."""
    return list(db.scalars(_members(clinic_id, now).where(may_watch(clinic_id, now))))


def may_watch(clinic_id: uuid.UUID, now: datetime) -> ColumnElement[bool]:
    """Whether a member of the clinic may take up alerts."""
    marked = select(StaffMark.staff_id).where(StaffMark.clinic_id == clinic_id, *_in_force(now))
    return or_(Staff.role.in_(WATCHERS), Staff.id.in_(marked))


def names(
    db: Session, clinic_id: uuid.UUID, ids: Iterable[uuid.UUID | None]
) -> dict[uuid.UUID, str]:
    """Names by id, of this clinic's staff only."""
    wanted = {i for i in ids if i is not None}
    rows = db.scalars(select(Staff).where(Staff.clinic_id == clinic_id, Staff.id.in_(wanted)))
    return {row.id: row.name for row in rows}


def sign_in_of(
    db: Session, token_hash: bytes, real_now: datetime
) -> tuple[StaffSession, Staff, Clinic] | None:
    """The sign-in a cookie's secret belongs to, while it holds by real time; one query."""
    row = db.execute(
        select(StaffSession, Staff, Clinic)
        .join(Staff, Staff.id == StaffSession.staff_id)
        .join(Clinic, Clinic.id == StaffSession.clinic_id)
        .where(
            StaffSession.token_hash == token_hash,
            StaffSession.ended_at.is_(None),
            StaffSession.expires_at > real_now,
        )
    ).first()
    return (row[0], row[1], row[2]) if row else None
