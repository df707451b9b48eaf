"""What reaches day summaries from the clinic's settings, from paper and from a phone that left."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.jobs import run_minute
from homeprog.services.actor import Actor
from homeprog.services.assess_course import assess_course, assess_whole_course
from homeprog.services.pair_phone import end_device
from homeprog.services.rebuild import rebuild
from homeprog.services.set_clinic import set_clinic
from homeprog.storage.models import Clinic, Course
from tests import cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.test_assess_course import FRI, MINUTE, counts, of, word


@pytest.fixture
def course(db: Session) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), from Wednesday 3 June."""
    return p.hourly(db, p.therapist(db))


def test_a_bout_entered_weeks_later_from_paper_is_found(db: Session, course: Course) -> None:
    by = cast.staff(db, db.get_one(Clinic, course.clinic_id), at(6))
    assess_course(db, course, at(7, 50), since=at(6))
    weeks_later = at(9) + timedelta(days=20)
    p.logged(
        db, course, weeks_later, done_at=None, slot_start=at(6), device_id=None, by_id=by.id,
        source="paper", logged_by="staff",
    )  # fmt: skip
    assess_course(db, course, weeks_later, since=at(6))
    assert counts(of(db, course, FRI)) == {"later": 1, "unknown": 14}


def test_a_phone_that_leaves_is_not_waited_for_any_more(db: Session, course: Course) -> None:
    one, other = p.phone(db, course), p.phone(db, course)
    for phone, minute in ((one, 10), (other, 20)):
        p.logged(db, course, at(6, minute), device_id=phone.id)
    word(db, one, at(8, 50))
    assess_course(db, course, at(8, 50), since=at(6))
    assert counts(of(db, course, FRI)) == {"logged": 1, "unknown": 1, "ahead": 13}
    end_device(db, Actor(course.clinic_id, "system"), other.id, "revoked", at(8, 55))
    assert counts(of(db, course, FRI)) == {"logged": 1, "not_logged": 1, "ahead": 13}


@pytest.mark.parametrize(
    ("key", "value", "standings"),
    [
        ("done_share", 1.0, {"logged": 2, "part": 1, "unknown": 1, "ahead": 11}),
        ("timely_minutes", 60, {"logged": 3, "ahead": 12}),
        ("grace_minutes", 0, {"logged": 2, "part": 1, "unknown": 1, "ahead": 11}),
    ],
)
def test_a_setting_of_the_clinic_judges_every_day_from_the_next_minute_on(
    db: Session, course: Course, key: str, value: float, standings: dict[str, int]
) -> None:
    p.logged(db, course, at(6, 30))
    p.logged(db, course, at(7, 30), amount=4)
    p.logged(db, course, at(8, 5), amount=4)  # within the grace: it makes 8 of the slot before
    p.logged(db, course, at(8, 30))
    now, later = at(10, 50), at(10, 51)
    assess_whole_course(db, course, now)
    assert counts(of(db, course, FRI)) == {"logged": 3, "unknown": 1, "ahead": 11}
    by = Actor(course.clinic_id, "system")
    set_clinic(db, by, {"settings": {key: value}}, now)
    run_minute(db, later)
    assert counts(of(db, course, FRI)) == standings
    assert rebuild(db, course, later).changed == ()


def test_a_setting_reaches_days_long_past_and_no_other_clinic(db: Session, course: Course) -> None:
    elsewhere = cast.staff(db, cast.clinic(db, at(6, day=2), "Another Unit"), at(6, day=2))
    other = p.hourly(db, elsewhere, name="Another Invented", number="SH 1")
    now = at(9) + timedelta(days=9)
    for each in (course, other):
        p.logged(db, each, at(6, 30), amount=5)
        word(db, p.phone(db, each), now)  # so that no day waits for a word any more
        assess_course(db, each, now, since=at(6))
    set_clinic(db, Actor(course.clinic_id, "system"), {"settings": {"done_share": 0.5}}, now)
    run_minute(db, now + MINUTE)
    assert counts(of(db, course, FRI)) == {"logged": 1, "not_logged": 14}
    assert counts(of(db, other, FRI)) == {"part": 1, "not_logged": 14}
