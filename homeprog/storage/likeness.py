"""A clinic's own days, from which it can be told how alike the slots of one day are."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import groupby

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.monitor.likeness import Day
from ..domain.monitor.running_sum import KNOWN
from .models import DaySummaryRow, Revision

BACK = timedelta(days=84)
STRETCH = 14  # course days taken as one level: a slow change over weeks is no likeness
Counted = tuple[uuid.UUID, int, Day]


def pooled_days(db: Session, clinic_id: uuid.UUID, today: date) -> list[list[Day]]:
    """(logged, known) of each whole day before `today`, by stretches of a course.

    Of a day the leading exercise of any stage of its course's regimes; of two such, the one with
    more known slots.
    """
    leading = _leading(db, clinic_id)
    rows = db.execute(
        select(
            DaySummaryRow.course_id, DaySummaryRow.day, DaySummaryRow.exercise,
            DaySummaryRow.standings,
        )
        .where(
            DaySummaryRow.clinic_id == clinic_id, DaySummaryRow.date < today,
            DaySummaryRow.date >= today - BACK,
        )
        .order_by(DaySummaryRow.course_id, DaySummaryRow.day)
    )  # fmt: skip
    best: dict[tuple[uuid.UUID, int], Day] = {}
    for course, number, exercise, standings in rows:
        told = counted(slot[2] for slot in standings)
        if exercise in leading.get(course, ()) and told[1] > best.get((course, number), (0, 0))[1]:
            best[course, number] = told
    return stretches([(course, number, told) for (course, number), told in best.items()])


def counted(standings: Iterable[str]) -> Day:
    """(logged or later, known) of a day's slots."""
    outcomes = {str(standing): told for standing, told in KNOWN.items()}
    known = [outcomes[each] for each in standings if each in outcomes]
    return sum(known), len(known)


def stretches(days: Sequence[Counted]) -> list[list[Day]]:
    """Days of one course and of one stretch together."""
    ordered = sorted(days, key=lambda each: (each[0].bytes, each[1]))
    found = groupby(ordered, key=lambda each: (each[0], each[1] // STRETCH))
    return [[told for _, _, told in group] for _, group in found]


def _leading(db: Session, clinic_id: uuid.UUID) -> dict[uuid.UUID, set[str]]:
    rows = db.execute(
        select(Revision.course_id, Revision.body).where(Revision.clinic_id == clinic_id)
    )
    found: dict[uuid.UUID, set[str]] = {}
    for course, body in rows:
        keys = {phase.get("leading") for phase in body.get("phases", ())}
        found.setdefault(course, set()).update(key for key in keys if key)
    return found
