"""What became of a visit: kept, missed, cancelled; and what follows from it."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid, NotFound
from homeprog.services.actor import Actor
from homeprog.services.mark_visit import mark_visit
from homeprog.services.plan_visit import plan_visit
from homeprog.storage.last_seen import last_examined, last_seen
from homeprog.storage.models import Course, Visit
from homeprog.storage.visits import next_visit
from tests import cast
from tests.regime_cast import on_regime
from tests.services.watch_cast import clinician_of

NOW = datetime(2026, 6, 3, 9, 0, tzinfo=UTC)
THE_DAY = datetime(2026, 6, 10, 9, 0, tzinfo=UTC)


def booked(db: Session) -> tuple[Course, Visit, Actor]:
    course = on_regime(db, NOW).course
    by = clinician_of(db, course)
    return course, plan_visit(db, by, course.id, date(2026, 6, 10), NOW), by


def test_a_kept_visit_is_the_next_one_no_more_and_counts_as_seen(db: Session) -> None:
    course, visit, by = booked(db)
    mark_visit(db, by, visit.id, "kept", THE_DAY)
    assert next_visit(db, course, THE_DAY) is None
    assert last_seen(db, course, THE_DAY) == THE_DAY
    examined = last_examined(db, course, THE_DAY)
    assert examined is None or examined.at < THE_DAY


def test_the_hand_examined_at_a_kept_visit_is_the_last_examination(db: Session) -> None:
    course, visit, by = booked(db)
    mark_visit(db, by, visit.id, "kept", THE_DAY, examined=True)
    told = last_examined(db, course, THE_DAY)
    assert told is not None
    assert told.at == THE_DAY


def test_a_visit_is_not_kept_or_missed_before_its_day_but_may_be_cancelled(db: Session) -> None:
    course, visit, by = booked(db)
    for what in ("kept", "missed", "moved"):
        with pytest.raises(Invalid) as refused:
            mark_visit(db, by, visit.id, what, NOW)
        assert list(refused.value.fields) == ["what"]
    mark_visit(db, by, visit.id, "cancelled", NOW)
    assert next_visit(db, course, NOW) is None


def test_a_second_marking_is_refused(db: Session) -> None:
    _, visit, by = booked(db)
    mark_visit(db, by, visit.id, "missed", THE_DAY)
    with pytest.raises(Conflict):
        mark_visit(db, by, visit.id, "kept", THE_DAY)


def test_only_a_clinician_says_that_the_hand_was_examined(db: Session) -> None:
    _, visit, by = booked(db)
    clerk = Actor(by.clinic_id, "staff", by.id, "enroller")
    with pytest.raises(Forbidden):
        mark_visit(db, clerk, visit.id, "kept", THE_DAY, examined=True)
    mark_visit(db, clerk, visit.id, "kept", THE_DAY)


def test_a_visit_of_another_clinic_does_not_exist(db: Session) -> None:
    _, visit, _ = booked(db)
    other = cast.acting(cast.staff(db, cast.clinic(db, NOW, name="Elsewhere"), NOW))
    with pytest.raises(NotFound):
        mark_visit(db, other, visit.id, "kept", THE_DAY)
