"""The audit trail is sealed into a chain: what is changed, taken out or put in is found."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from homeprog.jobs import run_minute
from homeprog.services.keep_audit import keep
from homeprog.services.seal_audit import chain_of, seal_audit
from homeprog.storage.models import Audit, Staff
from tests import cast
from tests.conftest import NOW

LATER = NOW + timedelta(minutes=1)


@pytest.fixture
def anna(db: Session) -> Staff:
    """A clinic in which she did five things, one of them sealed with those before."""
    who = cast.staff(db, cast.clinic(db, NOW), NOW)
    for n in range(5):
        keep(db, cast.acting(who), f"did_{n}", who, NOW + timedelta(seconds=n))
    db.flush()
    return who


def sealed(db: Session, who: Staff) -> list[Audit]:
    rows = select(Audit).where(Audit.clinic_id == who.clinic_id, Audit.sequence.is_not(None))
    return list(db.scalars(rows.order_by(Audit.sequence)))


def test_rows_are_numbered_in_the_order_they_were_written_and_sealed_once(
    db: Session, anna: Staff
) -> None:
    assert seal_audit(db, NOW + timedelta(seconds=2)) == 3
    marks = [row.chain for row in sealed(db, anna)]
    assert seal_audit(db, LATER) == 2
    assert [row.act for row in sealed(db, anna)] == [f"did_{n}" for n in range(5)]
    assert [row.chain for row in sealed(db, anna)][:3] == marks
    assert seal_audit(db, LATER) == 0
    assert chain_of(db, anna.clinic_id).broken_at is None


def test_the_minutes_job_seals(db: Session, anna: Staff) -> None:
    run_minute(db, LATER)
    told = chain_of(db, anna.clinic_id)
    assert (told.rows, told.waiting, told.broken_at) == (5, 0, None)


def test_a_changed_row_is_found(db: Session, anna: Staff) -> None:
    seal_audit(db, LATER)
    db.execute(update(Audit).where(Audit.sequence == 3).values(act="did_nothing"))
    assert chain_of(db, anna.clinic_id).broken_at == 3


def test_a_row_taken_out_is_found_and_the_last_one_by_its_mark_kept_elsewhere(
    db: Session, anna: Staff
) -> None:
    seal_audit(db, LATER)
    known = chain_of(db, anna.clinic_id).mark
    db.execute(delete(Audit).where(Audit.sequence == 5))
    told = chain_of(db, anna.clinic_id)
    assert told.broken_at is None
    assert told.mark != known
    db.execute(delete(Audit).where(Audit.sequence == 2))
    assert chain_of(db, anna.clinic_id).broken_at == 2


def test_each_clinic_has_a_chain_of_its_own(db: Session, anna: Staff) -> None:
    other = cast.staff(db, cast.clinic(db, NOW, "Hill Hand Unit"), NOW)
    keep(db, cast.acting(other), "did", other, NOW)
    seal_audit(db, LATER)
    assert [row.sequence for row in sealed(db, other)] == [1]
    assert chain_of(db, anna.clinic_id).rows == 5
