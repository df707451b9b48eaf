"""Day summaries as rows, and which days are summed up anew."""

from __future__ import annotations

from datetime import date, timedelta
from threading import Thread
from typing import Any

import pytest
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session

from homeprog.jobs import run_minute
from homeprog.services.assess_course import assess_course, assess_whole_course
from homeprog.services.course_changed import course_changed
from homeprog.storage.models import ContactMarkRow, Course, DaySummaryRow, Device, HoldEnd, HoldRow
from homeprog.storage.summaries import courses_due, summaries
from tests import cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at

WED, THU, FRI, SAT = (date(2026, 6, day) for day in (3, 4, 5, 6))
MINUTE = timedelta(minutes=1)


@pytest.fixture
def course(db: Session) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), from Wednesday 3 June."""
    return p.hourly(db, p.therapist(db))


def word(db: Session, phone: Device, when: Any, empty: bool = True) -> None:
    db.add(
        ContactMarkRow(
            at=when, clinic_id=phone.clinic_id, device_id=phone.id, kind="ping", outbox_empty=empty
        )
    )
    db.flush()


def of(db: Session, course: Course, day: date) -> DaySummaryRow:
    return next(row for row in summaries(db, course.id) if row.date == day)


def counts(row: DaySummaryRow) -> dict[str, int]:
    """The standings of a day that occur in it."""
    names = ("logged", "part", "later", "not_logged", "unknown", "excused", "ahead")
    return {name: row.figures[name] for name in names if row.figures[name]}


def test_a_day_is_summed_up_slot_by_slot(db: Session, course: Course) -> None:
    p.logged(db, course, at(6, 30))
    p.logged(db, course, at(7, 30), amount=4)
    assess_course(db, course, at(9, 46), since=at(6))
    row = of(db, course, FRI)
    assert counts(row) == {"logged": 1, "part": 1, "unknown": 1, "ahead": 12}
    assert row.day == (FRI - course.day_zero).days
    assert row.standings[:3] == [
        ["2026-06-05T06:00:00+00:00", "2026-06-05T07:00:00+00:00", "logged", 10, 10],
        ["2026-06-05T07:00:00+00:00", "2026-06-05T08:00:00+00:00", "part", 4, 10],
        ["2026-06-05T08:00:00+00:00", "2026-06-05T09:00:00+00:00", "unknown", 0, 10],
    ]


def test_rows_received_later_than_now_are_not_seen(db: Session, course: Course) -> None:
    p.logged(db, course, at(6, 30), at=at(6, 31))
    assess_course(db, course, at(6, 30), since=at(6))
    assert counts(of(db, course, FRI)) == {"ahead": 15}


def test_only_the_days_touched_are_written(db: Session, course: Course) -> None:
    p.phone(db, course)
    assess_whole_course(db, course, at(5, 0))
    word(db, *db.query(Device).all(), at(6, 0))
    assess_course(db, course, at(6, 0))
    p.logged(db, course, at(8, 30))
    assess_course(db, course, at(8, 31), since=at(8, 30))
    assert of(db, course, THU).as_of == at(6, 0)
    assert of(db, course, FRI).as_of == at(8, 31)


def test_a_word_from_the_phone_tells_not_logged_from_unknown_days_back(
    db: Session, course: Course
) -> None:
    phone = p.phone(db, course)
    assess_whole_course(db, course, at(10, 0))
    assert counts(of(db, course, THU)) == {"unknown": 15}
    word(db, phone, at(10, 1), empty=False)
    assess_course(db, course, at(10, 1))
    assert counts(of(db, course, THU)) == {"unknown": 15}
    word(db, phone, at(10, 2))
    assess_course(db, course, at(10, 2))
    assert counts(of(db, course, THU)) == {"not_logged": 15}
    assert not of(db, course, THU).waits


def test_a_hold_excuses_and_its_end_asks_again(db: Session, course: Course) -> None:
    hold = p.held(db, course, at(9, 30))
    assess_course(db, course, at(9, 30), since=at(9, 30))
    assert counts(of(db, course, FRI)) == {
        "unknown": 2,
        "ahead": 1,
    }  # 6, 7 and 8 o'clock; the rest is held
    end = HoldEnd(
        at=at(12), clinic_id=course.clinic_id, hold_id=hold.id, ends=at(12), reason="seen"
    )
    db.add(end)
    db.flush()
    assess_course(db, course, at(12), since=hold.starts)
    assert counts(of(db, course, FRI)) == {"unknown": 3, "excused": 2, "ahead": 9}


def test_a_slot_that_passes_makes_its_course_due_and_no_other(db: Session, course: Course) -> None:
    assess_whole_course(db, course, at(6, 10))
    assert of(db, course, FRI).next_at == at(7, 45)
    assert courses_due(db, at(7, 45)) == []  # past is later than end + 45 min
    later = at(7, 45) + timedelta(microseconds=1)
    assert courses_due(db, later) == [course]
    assess_course(db, course, later)
    assert courses_due(db, later) == []
    assert of(db, course, FRI).next_at == at(8, 45)


def test_a_new_day_wakes_the_course(db: Session, course: Course) -> None:
    assess_whole_course(db, course, at(22, 30, day=4))
    assert courses_due(db, at(5, 59)) == []
    assert courses_due(db, at(6, 1)) == [course]
    assess_course(db, course, at(6, 1))
    assert counts(of(db, course, FRI)) == {"ahead": 15}
    assert of(db, course, THU).next_at is None


def test_what_is_set_after_bedtime_is_summed_up_from_the_next_waking_on(db: Session) -> None:
    night = at(21, 30, day=4)  # 22:30 in London
    course = p.hourly(db, p.therapist(db), now=night)
    course_changed(db, course, night, night)
    run_minute(db, night + MINUTE)
    assert summaries(db, course.id) == []
    run_minute(db, at(6, 0))
    assert counts(of(db, course, FRI)) == {"ahead": 15}


def test_what_is_set_after_bedtime_is_summed_up_whole_though_the_jobs_stood_still(
    db: Session,
) -> None:
    night = at(21, 30, day=2)
    course = p.hourly(db, p.therapist(db), now=night)
    course_changed(db, course, night, night)
    run_minute(db, at(6, 0))
    assert [row.date for row in summaries(db, course.id)] == [WED, THU, FRI]


def test_days_in_which_the_jobs_stood_still_are_made_good(db: Session, course: Course) -> None:
    assess_whole_course(db, course, at(12, day=3))
    assess_course(db, course, at(8, day=6))
    assert [row.date for row in summaries(db, course.id)] == [WED, THU, FRI, SAT]
    assert counts(of(db, course, FRI)) == {"unknown": 15}


def test_a_bout_minutes_before_waking_goes_to_the_first_slot_of_the_day(
    db: Session, course: Course
) -> None:
    p.logged(db, course, at(5, 50))
    assess_course(db, course, at(5, 50), since=at(5, 50))
    assert of(db, course, THU).figures["excess"] == 0
    assess_course(db, course, at(6, 1))
    assert counts(of(db, course, FRI)) == {"ahead": 15}
    assert of(db, course, FRI).standings[0][2:] == ["logged", 10, 10]


def test_a_log_that_pushes_another_out_of_the_day_is_excess_of_the_day_before(
    db: Session, course: Course
) -> None:
    p.logged(db, course, at(5, 50))
    p.logged(db, course, at(6, 30))
    assess_course(db, course, at(6, 31), since=at(6, 30))
    assert of(db, course, THU).figures["excess"] + of(db, course, FRI).figures["excess"] == 10
    incremental = {(row.date, row.exercise): row.figures for row in summaries(db, course.id)}
    assess_whole_course(db, course, at(6, 31))
    whole = {(row.date, row.exercise): row.figures for row in summaries(db, course.id)}
    assert {key: whole[key] for key in incremental} == incremental


def test_a_bout_where_nothing_is_due_has_a_summary_that_goes_with_it(
    db: Session, course: Course
) -> None:
    bout = p.logged(db, course, at(10, 0), exercise="other")
    assess_course(db, course, at(10, 0), since=at(10))
    kept = [row for row in summaries(db, course.id, FRI, FRI) if row.exercise == "other"]
    assert [row.figures["excess"] for row in kept] == [10]
    p.logged(db, course, at(10, 5), supersedes_id=bout.id)
    assess_course(db, course, at(10, 6), since=at(10))
    assert [row.exercise for row in summaries(db, course.id, FRI, FRI)] == ["bend"]


def test_awake_round_the_clock_the_days_are_one_line(db: Session, course: Course) -> None:
    for row in db.query(cast.WakingHours).all():
        row.sleep = row.wake
    db.flush()
    for minute in (55, 58):  # Thursday's last slot and Friday's first share an edge at 6 UTC
        p.logged(db, course, at(5, minute))
    assess_course(db, course, at(6, 1), since=at(5, 55))
    assert of(db, course, THU).standings[-1][3] == 10
    assert of(db, course, FRI).standings[0][3] == 10


def test_two_courses_of_one_clinic_keep_apart(db: Session) -> None:
    by = p.therapist(db)
    one = p.hourly(db, by)
    other = p.hourly(db, by, name="Another Invented", number="SH 1")
    p.logged(db, other, at(6, 30))
    for course in (one, other):
        assess_course(db, course, at(7), since=at(6))
    assert of(db, one, FRI).standings[0][2] == "ahead"
    assert of(db, other, FRI).standings[0][2] == "logged"


def test_one_log_asks_no_more_of_the_database_after_84_days_than_after_8(
    db: Session, course: Course
) -> None:
    def asked(now: Any) -> int:
        statements: list[str] = []

        def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
            statements.append(statement)

        engine = db.get_bind()
        event.listen(engine, "after_cursor_execute", note)
        assess_course(db, course, now, since=now)
        event.remove(engine, "after_cursor_execute", note)
        return len(statements)

    phone = p.phone(db, course)
    for day in range(84):
        p.logged(db, course, at(6, 30) + timedelta(days=day), device_id=phone.id)
        word(db, phone, at(22) + timedelta(days=day))
    early, late = at(6, 40) + timedelta(days=8), at(6, 40) + timedelta(days=83)
    assess_whole_course(db, course, early)
    few = asked(early + MINUTE)
    assess_whole_course(db, course, late)
    assert asked(late + MINUTE) == few
    assert few <= 20


def test_an_unconfirmed_course_has_no_summaries(db: Session) -> None:
    course = cast.enrolled(db, p.therapist(db), at(6))
    assess_course(db, course, at(12), since=at(6))
    assert summaries(db, course.id) == []


def test_a_hold_row_of_another_course_excuses_nothing(db: Session, course: Course) -> None:
    other = p.hourly(
        db, db.get_one(cast.Staff, db.query(cast.Staff).one().id), name="B", number="2"
    )
    p.held(db, other, at(6))
    assess_course(db, course, at(9, 46), since=at(6))
    assert db.query(HoldRow).count() == 1
    assert "excused" not in counts(of(db, course, FRI))


def test_two_uploads_at_once_leave_the_summary_of_both(
    engine: Engine, db: Session, course: Course
) -> None:
    """The second waits for the first to commit, and only then reads what is logged."""
    assess_whole_course(db, course, at(6, 0))
    db.commit()
    key = course.id
    p.logged(db, course, at(6, 30))
    assess_course(db, course, at(10), since=at(6))  # not committed yet

    def upload() -> None:
        with Session(engine) as mine:
            own = mine.get_one(Course, key)
            p.logged(mine, own, at(8, 30))
            assess_course(mine, own, at(10), since=at(8))
            mine.commit()

    thread = Thread(target=upload)
    thread.start()
    thread.join(timeout=0.7)
    assert thread.is_alive()
    db.commit()
    thread.join(timeout=60)
    db.expire_all()
    row = of(db, db.get_one(Course, key), FRI)
    assert [slot[2] for slot in row.standings[:3]] == ["logged", "unknown", "logged"]
