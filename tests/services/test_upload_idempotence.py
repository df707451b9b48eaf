"""500 bouts, however they are sent, are 500 rows and the day summaries of one clean upload."""

from __future__ import annotations

import random
import uuid
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, delete, func, select
from sqlalchemy.orm import Session

from homeprog.services.assess_course import assess_course
from homeprog.storage.models import (
    BoutRow,
    ContactMarkRow,
    Course,
    DaySummaryRow,
    Device,
)

from .. import cast
from ..regime_cast import on_regime
from ..upload_cast import Raw, bout, results, send, told

BEGUN = datetime(2026, 5, 18, 7, 0, tzinfo=UTC)  # a Monday, 8:00 in London
NOW = BEGUN + timedelta(days=18)
BOUTS = 500

Summaries = list[tuple[Any, ...]]


@dataclass(frozen=True)
class Case:
    """A patient with a phone that holds 500 bouts, and what one clean upload makes of them."""

    engine: Engine
    device_id: uuid.UUID
    course_id: uuid.UUID
    items: tuple[Raw, ...]
    clean: Summaries

    def upload(self, batches: Sequence[Sequence[Raw]]) -> Counter[str]:
        """Send the batches one after another over one connection of its own."""
        counted: Counter[str] = Counter()
        with Session(self.engine) as db:
            device = db.get_one(Device, self.device_id)
            for batch in batches:
                counted.update(results(send(db, device, batch, NOW)))
        return counted

    def clear(self) -> None:
        """As if nothing had been sent."""
        with Session(self.engine) as db:
            for model in (BoutRow, DaySummaryRow, ContactMarkRow):
                db.execute(delete(model))
            db.commit()

    def rows(self) -> int:
        with Session(self.engine) as db:
            return db.scalars(select(func.count()).select_from(BoutRow)).one()

    def summaries(self) -> Summaries:
        with Session(self.engine) as db:
            rows = db.scalars(
                select(DaySummaryRow).order_by(DaySummaryRow.day, DaySummaryRow.exercise)
            )
            return [(r.day, r.exercise, r.figures, r.standings, r.next_at) for r in rows]


def five_hundred(course: Course) -> tuple[Raw, ...]:
    """Goes over 18 days: on time, filled in later, in no slot; of two exercises."""
    dice = random.Random(40217)
    items = []
    for number in range(BOUTS):
        at = BEGUN + timedelta(minutes=dice.randrange(10, 18 * 24 * 60 - 60))
        own: Raw = {"id": str(uuid.UUID(int=number + 1)), "amount": dice.choice((4, 10, 12))}
        if dice.random() < 0.2:
            slot = at.replace(minute=0) - timedelta(hours=2)
            own |= {"done_at": None, "slot_start": told(max(slot, BEGUN)), "how": "later"}
        if dice.random() < 0.1:
            own["exercise"] = "shoulder"
        items.append(bout(course, at, **own))
    return tuple(items)


@pytest.fixture
def case(engine: Engine) -> Case:
    with Session(engine) as db:
        course = on_regime(db, BEGUN).course
        device = cast.phone(db, course, BEGUN)
        db.commit()
        items, ids = five_hundred(course), (device.id, course.id)
    made = Case(engine, *ids, items, [])
    made.upload([items[n : n + 100] for n in range(0, BOUTS, 100)])
    assert made.rows() == BOUTS
    return Case(engine, *ids, items, made.summaries())


def ways(case: Case, seed: int, share: float) -> list[list[list[Raw]]]:
    """Batches for two connections: shuffled, overlapping by `share`, some of them repeated."""
    dice = random.Random(seed)
    items = list(case.items)
    dice.shuffle(items)
    middle = BOUTS // 2
    overlap = int(share * middle)
    parts = [items[: middle + overlap], items[middle - overlap :]]
    return [_batches(part, dice) for part in parts]


def _batches(items: list[Raw], dice: random.Random) -> list[list[Raw]]:
    dice.shuffle(items)
    batches = []
    while items:
        size = dice.choice((1, 16, 60, 100))
        batches.append(items[:size])
        items = items[size:]
    return batches + dice.sample(batches, k=min(2, len(batches)))


def same_as_clean(case: Case, seed: int, share: float) -> None:
    case.clear()
    with ThreadPoolExecutor(2) as both:
        told = list(both.map(case.upload, ways(case, seed, share)))
    counted = told[0] + told[1]
    assert set(counted) == {"stored", "already"}
    assert counted["stored"] == BOUTS
    assert case.rows() == BOUTS
    assert case.summaries() == case.clean


SLOW = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)  # a failing way takes too long to shrink
seeds, shares = st.integers(0, 2**32), st.floats(0, 1)


@settings(max_examples=2, deadline=None, phases=PHASES, suppress_health_check=SLOW)
@given(seed=seeds, share=shares)
def test_however_500_bouts_are_sent_they_are_500_rows_and_the_same_days(
    case: Case, seed: int, share: float
) -> None:
    same_as_clean(case, seed, share)


@pytest.mark.full
@settings(max_examples=25, deadline=None, phases=PHASES, suppress_health_check=SLOW)
@given(seed=seeds, share=shares)
def test_however_500_bouts_are_sent_in_many_ways(case: Case, seed: int, share: float) -> None:
    same_as_clean(case, seed, share)


def test_the_clean_upload_says_something_of_each_day(case: Case) -> None:
    """So that equal summaries are not equal because they are empty."""
    days = {summary[0] for summary in case.clean}
    assert len(days) >= 18
    assert sum(summary[2]["told"] for summary in case.clean) > 1000


def test_summing_up_all_days_anew_changes_nothing(case: Case) -> None:
    with Session(case.engine) as db:
        course = db.get_one(Course, case.course_id)
        assess_course(db, course, NOW, since=course.at)
        db.commit()
    assert case.summaries() == case.clean
