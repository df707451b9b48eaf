"""The clinic's own figure of likeness: from its pooled days, accepted by a manager."""

from __future__ import annotations

import random
import uuid
from datetime import timedelta

import pytest

from homeprog.domain.errors import Conflict, Forbidden
from homeprog.services.accept_rho import KEY, accept_rho, own_rho
from homeprog.storage import clinics
from homeprog.storage.likeness import counted, pooled_days, stretches
from homeprog.storage.models import DaySummaryRow
from tests import cast
from tests.regime_cast import on_regime
from tests.services.notice_cast import at

NOON = at(12)
LEADS = "bend_to_stop"


def days(db, made, count, exercise=LEADS, seed=1):
    """Whole days before today whose slots are all alike, or not, as it falls."""
    draw = random.Random(seed)
    for back in range(1, count + 1):
        share = draw.choice((0.6, 1.0))  # days differ: their slots are alike
        stands = ["logged" if draw.random() < share else "not_logged" for _ in range(12)]
        db.add(
            DaySummaryRow(
                clinic_id=made.clinic.id, at=NOON, course_id=made.course.id, day=200 - back,
                date=(NOON - timedelta(days=back)).date(), exercise=exercise, as_of=NOON,
                figures={}, standings=[["", "", each, 0, True] for each in stands],
            )
        )  # fmt: skip
    db.commit()


@pytest.fixture
def made(db):
    return on_regime(db, at(8, day=1))


@pytest.fixture
def manager(db, made):
    return cast.acting(cast.staff(db, made.clinic, at(8, day=1), "manager", None), None)


def test_too_few_days_say_nothing_and_cannot_be_accepted(db, made, manager):
    days(db, made, 60)
    assert own_rho(db, manager, NOON) is None
    with pytest.raises(Conflict):
        accept_rho(db, manager, NOON)


def test_what_is_accepted_is_what_the_rule_takes_from_then_on(db, made, manager):
    for seed in range(4):
        days(db, made if not seed else on_another(db, made, seed), 80, seed=seed)
    found = own_rho(db, manager, NOON)
    assert found.days == 320
    value = accept_rho(db, manager, NOON)
    assert value == round(found.rho, 2)
    assert clinics.setting(db, made.clinic.id, KEY, NOON) == value
    assert clinics.setting(db, made.clinic.id, KEY, NOON - timedelta(minutes=1)) == 0.3


def on_another(db, made, seed):
    """One more course of the clinic on the same regime."""
    other = cast.confirmed(db, db.get(cast.Staff, made.therapist.id), at(8), number=f"SH {seed}")
    row = made.revision
    db.add(
        type(row)(
            clinic_id=row.clinic_id, at=row.at, course_id=other.id, number=1, body=row.body,
            effective_from=row.effective_from, plan_hash=row.plan_hash, reason="", limits=[],
            surgeon_reasons=[], by_id=row.by_id,
        )
    )  # fmt: skip
    db.flush()
    return type(made)(**(vars(made) | {"course": other}))


def test_only_a_manager_accepts(db, made):
    with pytest.raises(Forbidden):
        accept_rho(db, made.therapist, NOON)


def test_only_days_of_a_leading_exercise_and_of_this_clinic_count(db, made, manager):
    days(db, made, 20, exercise="scar_massage")
    days(db, on_regime(db, at(8, day=1)), 20)
    assert pooled_days(db, made.clinic.id, NOON.date()) == []
    days(db, made, 20)
    assert sum(map(len, pooled_days(db, made.clinic.id, NOON.date()))) == 20


def test_the_day_in_progress_is_no_whole_day(db, made):
    days(db, made, 3)
    early = (NOON - timedelta(days=1)).date()
    assert sum(map(len, pooled_days(db, made.clinic.id, early))) == 2


def test_unknown_excused_and_coming_slots_are_not_counted():
    assert counted(["logged", "later", "part", "not_logged", "unknown", "excused", "ahead"]) == (
        2, 4,
    )  # fmt: skip


def test_a_course_is_cut_into_stretches_of_fourteen_days():
    course = uuid.uuid4()
    found = stretches([(course, day, (1, 2)) for day in (30, 13, 14, 27, 28)])
    assert sorted(map(len, found)) == [1, 2, 2]
