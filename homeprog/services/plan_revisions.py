"""Which revision a plan version stood for."""

from __future__ import annotations

import uuid
from collections.abc import Collection

from sqlalchemy.orm import Session

Plans = Collection[tuple[uuid.UUID, str | None]]


def revisions_of_plans(db: Session, plans: Plans) -> dict[tuple[uuid.UUID, str | None], int]:
    """For each (course, plan version) that is known, the number of its revision."""
    return {}
