"""Every look-up by id goes through here and is held to one clinic."""

from __future__ import annotations

import uuid
from typing import TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.errors import NotFound
from .base import Row

R = TypeVar("R", bound=Row)


def get(db: Session, row: type[R], clinic_id: uuid.UUID, row_id: uuid.UUID | str) -> R:
    """The row of that id in that clinic; NotFound for another clinic's, a bad or unknown id."""
    try:
        key = row_id if isinstance(row_id, uuid.UUID) else uuid.UUID(str(row_id))
    except ValueError:
        raise NotFound(row.__tablename__) from None
    found = db.scalars(select(row).where(row.id == key, row.clinic_id == clinic_id)).first()
    if found is None:
        raise NotFound(row.__tablename__)
    return found
