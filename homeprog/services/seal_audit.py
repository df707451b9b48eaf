"""Seal the audit trail: each row's mark is made of the row and of the mark before it."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..storage.base import oldest_first
from ..storage.models import Audit, Clinic

AT_MOST = 5000  # rows of a clinic in one pass, so that a tick comes to an end


@dataclass(frozen=True, slots=True)
class Chain:
    """A clinic's sealed trail. Whoever keeps `mark` elsewhere can tell a shortened one, too."""

    rows: int
    mark: str  # hexadecimal, of the last row; empty before the first
    broken_at: int | None  # sequence of the first row that was changed or is missing
    waiting: int  # rows not sealed yet


def seal_audit(db: Session, now: datetime) -> int:
    """Seal what was written since, clinic by clinic; how many rows. One process does this."""
    return sum(_seal(db, clinic_id, now) for clinic_id in db.scalars(select(Clinic.id)).all())


def _seal(db: Session, clinic_id: uuid.UUID, now: datetime) -> int:
    fresh = _of(clinic_id).where(Audit.sequence.is_(None), Audit.at <= now)
    rows = db.scalars(fresh.order_by(*oldest_first(Audit)).limit(AT_MOST)).all()
    if not rows:
        return 0
    sealed = _of(clinic_id).where(Audit.sequence.is_not(None))
    last = db.scalars(sealed.order_by(Audit.sequence.desc()).limit(1)).first()
    number, mark = (last.sequence or 0, last.chain or b"") if last else (0, b"")
    for row in rows:
        number, mark = number + 1, _mark(row, mark)
        row.sequence, row.chain = number, mark
    db.flush()
    return len(rows)


def chain_of(db: Session, clinic_id: uuid.UUID) -> Chain:
    """Read the whole trail of a clinic and work each mark out anew."""
    sealed = _of(clinic_id).where(Audit.sequence.is_not(None)).order_by(Audit.sequence)
    rows = db.scalars(sealed.execution_options(populate_existing=True)).all()
    waiting = len(db.scalars(_of(clinic_id).where(Audit.sequence.is_(None))).all())
    mark = (rows[-1].chain or b"").hex() if rows else ""
    return Chain(len(rows), mark, _broken(rows), waiting)


def _broken(rows: Iterable[Audit]) -> int | None:
    mark = b""
    for number, row in enumerate(rows, 1):
        mark = _mark(row, mark)
        if row.sequence != number or row.chain != mark:
            return number
    return None


def _of(clinic_id: uuid.UUID) -> Any:
    return select(Audit).where(Audit.clinic_id == clinic_id)


def _mark(row: Audit, before: bytes) -> bytes:
    """SHA-256 of the mark before and of everything the row says, as one JSON list."""
    said = [
        str(row.id), str(row.clinic_id), row.at.astimezone(UTC).isoformat(),
        row.who_kind, _text(row.who_id), row.act, row.thing, _text(row.thing_id),
    ]  # fmt: skip
    return hashlib.sha256(before + json.dumps(said).encode()).digest()


def _text(key: uuid.UUID | None) -> str | None:
    return str(key) if key else None
