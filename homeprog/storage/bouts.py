"""Bouts as rows: put in once, read back as the rules see them."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any

from sqlalchemy import Table, bindparam, func, select, type_coerce
from sqlalchemy.dialects.postgresql import insert as postgresql_insert
from sqlalchemy.dialects.sqlite import insert as sqlite_insert
from sqlalchemy.orm import Session

from ..domain.bout import Bout
from .base import Row
from .columns import KeyText, columns
from .models import BoutRow

SLACK = timedelta(hours=49)  # no clock has a bout entered so long before it was done
INSERTS: dict[str, Any] = {"postgresql": postgresql_insert, "sqlite": sqlite_insert}

RevisionAt = Callable[[datetime], int | None]


def insert_new(
    db: Session, model: type[Row], rows: Sequence[Mapping[str, Any]]
) -> frozenset[uuid.UUID]:
    """Insert each row whose id is not there yet, all in one statement; the ids put in.

    Two connections that bring the same id wait for one another: exactly one puts it in.
    """
    if not rows:
        return frozenset()
    statement = _insertion(model, db.get_bind().dialect.name)
    in_order = sorted(rows, key=lambda row: row["id"].bytes)  # one order for all: no deadlock
    return frozenset(db.connection().execute(statement, in_order).scalars())


@lru_cache
def _insertion(model: type[Row], dialect: str) -> Any:
    table = model.__table__
    assert isinstance(table, Table)
    statement = INSERTS[dialect](table).on_conflict_do_nothing(index_elements=["id"])
    return statement.returning(table.c.id)


def digests(db: Session, model: type[Any], ids: Collection[uuid.UUID]) -> dict[uuid.UUID, str]:
    """The digest of each row of these ids that is there."""
    if not ids:
        return {}
    found = select(model.id, model.digest).where(model.id.in_(ids))
    return {row[0]: row[1] for row in db.execute(found)}


def courses_of_bouts(db: Session, ids: Collection[uuid.UUID]) -> dict[uuid.UUID, uuid.UUID]:
    """The course of each bout of these ids that is there."""
    if not ids:
        return {}
    found = select(BoutRow.id, BoutRow.course_id).where(BoutRow.id.in_(ids))
    return {row[0]: row[1] for row in db.execute(found)}


def places_of_bouts(db: Session, ids: Collection[uuid.UUID]) -> dict[uuid.UUID, datetime]:
    """Of each bout of these ids that is there the start of the slot it fills in, or its time."""
    if not ids:
        return {}
    return {
        row[0]: row[1] for row in db.execute(select(BoutRow.id, _WHEN).where(BoutRow.id.in_(ids)))
    }


def bout_rows(
    db: Session, course_id: uuid.UUID, since: datetime, until: datetime, now: datetime
) -> list[BoutRow]:
    """Bouts of a course done, or filling in a slot begun, in [since, until); in order of time.

    Rows received after `now` are not seen, nor what another row seen supersedes; a row of nothing
    done takes back what it supersedes and is no bout itself.
    """
    meant = _meant(course_id, since, until, now)
    rows = db.scalars(_ROWS, meant).all()
    gone = _superseded(db, meant) if rows else set()
    return [row for row in rows if row.amount and row.id not in gone]


def bouts_of(
    db: Session,
    course_id: uuid.UUID,
    since: datetime,
    until: datetime,
    now: datetime,
    revision_at: RevisionAt | None = None,
) -> tuple[tuple[Bout, ...], frozenset[str]]:
    """The bouts of [since, until) for `domain.credit`, and the ids that staff split from a go.

    `revision_at` tells the revision in force at an instant: a bout made under an older one than
    was in force when it was done is never excess.
    """
    meant = _meant(course_id, since, until, now)
    rows = columns(db, _COLUMNS, meant)  # no objects: every upload reads a day of these
    gone = {str(key) for key in _superseded(db, meant)} if rows else set()
    here = [row for row in rows if row.amount and row.id not in gone]
    apart = frozenset(row.id for row in here if row.split)
    return tuple(_bout(row, revision_at) for row in here), apart


def _bout(row: Any, revision_at: RevisionAt | None) -> Bout:
    return Bout(
        id=row.id,
        device=row.device_id or "staff",
        exercise=row.exercise,
        amount=row.amount,
        done_at=row.done_at,
        entered_at=row.entered_at,
        received_at=row.at,
        slot_start=row.slot_start,
        excess_exempt=_older(row, revision_at),
        pain=row.pain,
        pain_asked=row.pain_asked,
    )


def _older(row: Any, revision_at: RevisionAt | None) -> bool:
    """Whether it was made under an older revision than was in force when it was done."""
    if revision_at is None or row.revision is None:
        return False
    then = revision_at(row.done_at or row.entered_at)
    return then is not None and row.revision < then


def _superseded(db: Session, meant: Mapping[str, Any]) -> set[uuid.UUID]:
    """Ids that a later row took the place of; of two that correct one row, the later stands."""
    gone: set[uuid.UUID] = set()
    standing: dict[uuid.UUID, uuid.UUID] = {}
    for old, new in columns(db, _CORRECTIONS, meant):
        assert old is not None
        gone.add(old)
        if old in standing:
            gone.add(standing[old])
        standing[old] = new
    return gone


def _meant(course_id: uuid.UUID, since: datetime, until: datetime, now: datetime) -> dict[str, Any]:
    return {
        "course": course_id, "since": since, "until": until, "now": now,
        "early": since - SLACK,
    }  # fmt: skip


# Built once: putting a statement together costs more than SQLite's answer to it.
_WHEN = func.coalesce(BoutRow.slot_start, BoutRow.done_at, BoutRow.entered_at)
_SEEN = (BoutRow.course_id == bindparam("course"), BoutRow.at <= bindparam("now"))
_IN_REACH = (
    *_SEEN,
    BoutRow.entered_at >= bindparam("early"),  # and whenever later: staff enter weeks from paper
    bindparam("since") <= _WHEN,
    bindparam("until") > _WHEN,
)
_ORDER = (BoutRow.entered_at, BoutRow.id)
_ROWS = select(BoutRow).where(*_IN_REACH).order_by(*_ORDER)
_COLUMNS = (
    select(
        type_coerce(BoutRow.id, KeyText).label("id"),
        type_coerce(BoutRow.device_id, KeyText).label("device_id"),
        BoutRow.exercise, BoutRow.amount, BoutRow.done_at, BoutRow.entered_at, BoutRow.at,
        BoutRow.slot_start, BoutRow.revision, BoutRow.pain,
        BoutRow.pain_asked, BoutRow.split,
    )
    .where(*_IN_REACH)
    .order_by(*_ORDER)
)  # fmt: skip
# What corrects a bout is entered after it, or before by no more than a clock is held within.
_CORRECTIONS = (
    select(BoutRow.supersedes_id, BoutRow.id)
    .where(*_SEEN, BoutRow.supersedes_id.is_not(None), BoutRow.entered_at >= bindparam("early"))
    .order_by(*_ORDER)
)


def newest_bout(db: Session, course_id: uuid.UUID, now: datetime) -> BoutRow | None:
    """The bout entered last, of those received by `now`."""
    return db.scalars(
        select(BoutRow)
        .where(BoutRow.course_id == course_id, BoutRow.at <= now)
        .order_by(BoutRow.entered_at.desc())
        .limit(1)
    ).first()
