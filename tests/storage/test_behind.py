"""Courses the minute's jobs have not got to are known, whether they stand still or fail."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog import jobs
from homeprog.jobs import run_minute
from homeprog.services.close_course import close_course
from homeprog.storage.behind import behind
from homeprog.storage.models import Course
from homeprog.storage.touches import touch
from tests import cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.watch_cast import clinician_of

MINUTE = timedelta(minutes=1)


@pytest.fixture
def course(db: Session) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), looked at at 6:00."""
    made = p.hourly(db, p.therapist(db))
    run_minute(db, at(6))
    return made


def test_a_slot_that_passed_and_was_not_looked_at_shows_after_a_quarter_of_an_hour(
    db: Session, course: Course
) -> None:
    """The slot of 6:00 is past at 7:45."""
    assert behind(db, course.clinic_id, at(8)) == {}
    assert behind(db, course.clinic_id, at(8) + MINUTE) == {course.id: at(7, 45)}
    run_minute(db, at(8) + MINUTE)
    assert behind(db, course.clinic_id, at(8) + MINUTE) == {}


def test_so_does_what_a_phone_stored_and_a_day_that_began(db: Session, course: Course) -> None:
    touch(db, course.clinic_id, {course.id: at(6, 5)}, at(6, 10))
    assert behind(db, course.clinic_id, at(6, 26)) == {course.id: at(6, 10)}
    run_minute(db, at(23))
    assert behind(db, course.clinic_id, at(6, day=6)) == {}
    assert behind(db, course.clinic_id, at(6, 16, day=6)) == {course.id: at(6, day=6)}


def test_a_course_in_which_the_watch_fails_shows_from_the_morning_on(
    db: Session, course: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "watch_course", lambda *_: 1 / 0)
    for minute in (0, 1, 16):
        run_minute(db, at(6, minute, day=6))
    assert behind(db, course.clinic_id, at(6, 16, day=6)) == {course.id: at(6, day=6)}


def test_a_closed_course_and_another_clinic_are_left_out(db: Session, course: Course) -> None:
    other = cast.clinic(db, at(6), "Another Unit")
    assert behind(db, other.id, at(12)) == {}
    close_course(db, clinician_of(db, course), course.id, "completed", "", at(7))
    assert behind(db, course.clinic_id, at(12)) == {}
