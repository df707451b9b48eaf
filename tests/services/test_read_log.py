"""What each bout of the log came to is what the day summaries make of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.services.actor import Actor
from homeprog.services.assess_course import assess_course
from homeprog.services.review_course import Logged, read_log, review_course
from homeprog.services.set_clinic import set_clinic
from homeprog.storage.models import Course, Staff
from homeprog.storage.summaries import summaries
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at


@pytest.fixture
def therapist(db: Session) -> Staff:
    return p.therapist(db)


@pytest.fixture
def course(db: Session, therapist: Staff) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), from Wednesday 3 June."""
    return p.hourly(db, therapist)


def log(db: Session, course: Course) -> list[Logged]:
    """Of Friday at 10:00 UTC; what is too much in it is what the day's summary says."""
    found = read_log(db, review_course(db, course, at(10)), 1, at(10))
    assess_course(db, course, at(10), since=at(6))
    summed = sum(row.figures["excess"] for row in summaries(db, course.id))
    assert sum(each.excess for each in found) == summed
    return found


def test_a_bout_at_an_edge_goes_by_the_clinics_own_grace(db: Session, course: Course) -> None:
    """At 7:02 UTC a second dose of the slot from 7: within the grace it is the one's before."""
    p.logged(db, course, at(7, 2))
    p.logged(db, course, at(7, 30))
    assert [each.excess for each in log(db, course)] == [0, 0]
    by = Actor(course.clinic_id, "system")
    set_clinic(db, by, {"settings": {"grace_minutes": 0}}, at(9))
    assert sorted(each.excess for each in log(db, course)) == [0, 10]


def test_what_was_made_under_an_older_plan_is_not_too_much(
    db: Session, course: Course, therapist: Staff
) -> None:
    p.revise(db, course, therapist, at(6) - timedelta(hours=10), "bend")
    p.logged(db, course, at(7, 20))
    p.logged(db, course, at(7, 40), revision=1)
    assert [each.excess for each in log(db, course)] == [0, 0]
    p.logged(db, course, at(8, 20), revision=2)
    p.logged(db, course, at(8, 40), revision=2)
    assert sorted(each.excess for each in log(db, course)) == [0, 0, 0, 10]
