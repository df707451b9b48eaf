"""Keep who did what to which row: ids only."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..storage.base import Row
from ..storage.models import Audit
from .actor import Actor


def keep(db: Session, by: Actor, act: str, thing: Row, now: datetime) -> None:
    """A row of the audit trail; sealed into the chain by a job."""
    if thing.id is None:
        db.flush()
    row = Audit(clinic_id=by.clinic_id, at=now, who_kind=by.kind, who_id=by.id)
    row.act, row.thing, row.thing_id = act, thing.__tablename__, thing.id
    db.add(row)
