"""An upload touches days; the minute's job sums them up, and loses none of them."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from threading import Thread
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from homeprog.jobs import run_minute, sum_up
from homeprog.services import course_changed, open_alert
from homeprog.services import take_upload as take
from homeprog.services.actor import Actor
from homeprog.services.assess_course import assess_course
from homeprog.services.mark_contact import hear_phone, hear_word
from homeprog.services.rebuild import rebuild
from homeprog.services.take_upload import take_upload
from homeprog.storage.models import Alert, Course, Device, HoldRow, Touch
from homeprog.storage.summaries import courses_due, summaries
from tests import upload_cast
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.upload_cast import Raw, told, trouble, upload

WED, THU, FRI = (date(2026, 6, day) for day in (3, 4, 5))
SECOND = timedelta(seconds=1)


@pytest.fixture
def course(db: Session) -> Course:
    """'bend' 10 times, every hour from 7 to 22 in London (6 to 21 UTC), from Wednesday 3 June."""
    return p.hourly(db, p.therapist(db))


@pytest.fixture
def phone(db: Session, course: Course) -> Device:
    device = p.phone(db, course)
    device.at = course.at  # linked before anything was due
    db.commit()
    return device


def bout(course: Course, when: datetime, **own: Any) -> Raw:
    return upload_cast.bout(course, when, exercise="bend", **own)


def fill_in(course: Course, when: datetime, slot: datetime) -> Raw:
    return bout(course, when, done_at=None, slot_start=told(slot), how="later")


def by(phone: Device) -> Actor:
    return Actor(phone.clinic_id, "device", phone.id)


def standings(db: Session, course: Course, day: date) -> list[str]:
    """Of each slot of a day that has been summed up, in order; none without a row."""
    rows = [row for row in summaries(db, course.id) if row.date == day]
    return [slot[2] for row in rows for slot in row.standings]


def untouched(db: Session, course: Course, now: datetime) -> bool:
    """Whether nothing waits to be summed up, and what is kept is what the raw rows give."""
    return db.scalars(select(Touch)).all() == [] and rebuild(db, course, now).changed == ()


def test_an_upload_leaves_the_days_as_they_are_and_the_next_minute_sums_them_up(
    db: Session, course: Course, phone: Device
) -> None:
    run_minute(db, at(6, 0))
    upload(db, phone, [bout(course, at(6, 30))], at(6, 31))
    assert standings(db, course, FRI)[0] == "ahead"
    run_minute(db, at(6, 32))
    assert standings(db, course, FRI)[0] == "logged"
    assert untouched(db, course, at(6, 32))


def test_a_bout_in_no_slot_on_a_day_that_has_no_row_is_summed_up(
    db: Session, course: Course, phone: Device
) -> None:
    """At 4:00 in London, before Friday's waking: it is Thursday's."""
    upload(db, phone, [bout(course, at(3, 0))], at(3, 0))
    assert summaries(db, course.id) == []
    run_minute(db, at(3, 1))
    assert [row.figures["excess"] for row in summaries(db, course.id) if row.date == THU] == [10]


def test_a_fill_in_for_two_days_ago_is_summed_up_there(
    db: Session, course: Course, phone: Device
) -> None:
    run_minute(db, at(7, 0))
    upload(db, phone, [fill_in(course, at(7, 30), at(8, day=3))], at(7, 30))
    run_minute(db, at(7, 31))
    assert standings(db, course, WED)[2] == "later"
    assert untouched(db, course, at(7, 31))


def test_days_in_which_the_jobs_stood_still_are_all_summed_up(
    db: Session, course: Course, phone: Device
) -> None:
    run_minute(db, at(8, day=3))
    for day in (4, 5, 6):
        upload(db, phone, [bout(course, at(8, 10, day))], at(8, 10, day))
    run_minute(db, at(9, 0, day=8))
    days = [row.date.day for row in summaries(db, course.id)]
    assert days == [3, 4, 5, 6, 7, 8]
    assert [standings(db, course, date(2026, 6, day))[2] for day in (4, 5, 6)] == ["logged"] * 3
    assert untouched(db, course, at(9, 0, day=8))


def test_two_uploads_in_one_minute_are_both_counted(
    db: Session, course: Course, phone: Device
) -> None:
    run_minute(db, at(9, 0))
    upload(db, phone, [bout(course, at(8, 10))], at(9, 0, day=5) + SECOND, left=1)
    upload(db, phone, [fill_in(course, at(9), at(6))], at(9, 0) + 2 * SECOND, left=1)
    run_minute(db, at(9, 1))
    found = standings(db, course, FRI)
    assert (found[0], found[2]) == ("later", "logged")


def test_a_word_settles_unknown_slots_of_five_days_ago(
    db: Session, course: Course, phone: Device
) -> None:
    now = at(7, 0, day=8)
    run_minute(db, now)
    assert set(standings(db, course, WED)) == {"unknown"}
    hear_phone(db, by(phone), phone, 0, None, None, "page", now + SECOND)
    db.commit()
    run_minute(db, now + timedelta(minutes=1))
    assert set(standings(db, course, WED)) == {"not_logged"}


def test_a_receipt_from_a_phone_on_which_nothing_waits_is_such_a_word_and_no_other(
    db: Session, course: Course, phone: Device
) -> None:
    now = at(7, 0, day=8)
    run_minute(db, now)
    hear_word(db, by(phone), phone, "receipt", 1, None, now + SECOND)
    assert db.scalars(select(Touch)).all() == []
    hear_word(db, by(phone), phone, "receipt", 0, None, now + SECOND)
    db.commit()
    run_minute(db, now + timedelta(minutes=1))
    assert set(standings(db, course, WED)) == {"not_logged"}


def test_what_is_stored_already_or_refused_touches_nothing(
    db: Session, course: Course, phone: Device
) -> None:
    one = bout(course, at(6, 30))
    upload_cast.send(db, phone, [one], at(6, 31), left=1)
    upload(db, phone, [one, one | {"amount": 99}], at(6, 32), left=1)
    assert db.scalars(select(Touch)).all() == []


def test_a_correction_to_another_day_is_taken_away_from_the_day_it_was(
    db: Session, course: Course, phone: Device
) -> None:
    wrong = bout(course, at(8, 10, day=4))
    upload_cast.send(db, phone, [wrong], at(8, 11, day=4))
    assert standings(db, course, THU)[2] == "logged"
    hear_phone(db, by(phone), phone, 0, None, None, "page", at(6, 0))  # Thursday waits no more
    for day in (5, 6):
        run_minute(db, at(6, 1, day))
    right = bout(course, at(8, 10, day=6), supersedes=wrong["id"])
    upload_cast.send(db, phone, [right], at(8, 11, day=6))
    assert standings(db, course, THU)[2] == "not_logged"
    assert untouched(db, course, at(8, 11, day=6))


def test_what_comes_after_the_instant_of_a_tick_waits_for_the_next(
    db: Session, course: Course, phone: Device
) -> None:
    """A tick has one `now`: what it does not see must not be taken for summed up."""
    run_minute(db, at(6, 30))
    upload(db, phone, [bout(course, at(6, 30))], at(6, 31) + SECOND)
    assert sum_up(db, at(6, 31), [course.id]) == set()
    assert standings(db, course, FRI)[0] == "ahead"
    run_minute(db, at(6, 32))
    assert standings(db, course, FRI)[0] == "logged"


def test_trouble_and_exercise_while_stopped_are_told_in_the_upload_itself(
    db: Session, course: Course, phone: Device
) -> None:
    sent = [bout(course, at(8, 20)), trouble(course, at(8, 10))]
    upload(db, phone, sent, at(8, 21))
    kinds = {alert.kind for alert in db.scalars(select(Alert))}
    assert kinds == {"trouble", "exercise_while_stopped"}


def test_an_upload_that_waits_for_a_job_keeps_its_touch(
    engine: Engine, db: Session, course: Course, phone: Device
) -> None:
    run_minute(db, at(6, 0))
    db.commit()
    one, key = bout(course, at(6, 30)), phone.id
    assess_course(db, course, at(6, 31))  # not committed yet

    def send() -> None:
        with Session(engine) as mine:
            upload(mine, mine.get_one(Device, key), [one], at(6, 31))

    sent = _beside(send)
    assert sent.is_alive()
    db.commit()
    sent.join(timeout=60)
    assert [row.since for row in db.scalars(select(Touch))] == [at(6, 30)]
    run_minute(db, at(6, 32))
    assert standings(db, course, FRI)[0] == "logged"


def test_a_job_that_waits_for_an_upload_sums_up_what_it_brought(
    engine: Engine, db: Session, course: Course, phone: Device
) -> None:
    """Only once the upload is committed does the job read what is logged, and take its touch."""
    run_minute(db, at(6, 0))
    key, phones, who, failed = course.id, phone.id, by(phone), []
    sent = upload_cast.read([bout(course, at(6, 30))])
    db.commit()
    with Session(engine) as theirs:
        take_upload(theirs, who, theirs.get_one(Device, phones), sent, at(6, 31))

        def job() -> None:
            with Session(engine) as mine:
                failed.append(sum_up(mine, at(6, 31), [key]))

        beside = _beside(job)
        assert beside.is_alive()
        theirs.commit()
    beside.join(timeout=60)
    assert failed == [set()]
    assert standings(db, course, FRI)[0] == "logged"
    assert courses_due(db, at(6, 31)) == []


def _beside(act: Any) -> Thread:
    """Begun on a connection of its own, and given a while."""
    thread = Thread(target=act)
    thread.start()
    thread.join(timeout=0.7)
    return thread


def test_a_stop_is_kept_and_told_though_nothing_that_follows_can_be_worked_out(
    db: Session, course: Course, phone: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Days, reminders and the caseload's line fail; the report, its hold and its alert stay."""

    def fails(*_: object, **__: object) -> None:
        raise KeyError("Grace Obi")

    with monkeypatch.context() as broken:
        for name in ("assess_course", "plan_prompts", "show_change"):
            broken.setattr(course_changed, name, fails)
        broken.setattr(open_alert, "show_change", fails)
        results = upload(db, phone, [trouble(course, at(8, 10))], at(8, 11))
    assert [each.result for each in results] == ["stored"]
    assert db.scalars(select(Alert.kind)).all() == ["trouble"]
    assert db.scalars(select(HoldRow.kind)).all() == ["stop_flag"]
    assert course.id in {each.id for each in courses_due(db, at(8, 12))}  # tried again


def test_while_the_database_is_busy_nothing_is_refused_for_good(
    db: Session, course: Course, phone: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: object) -> None:
        raise OperationalError("INSERT", {}, Exception("deadlock detected"))

    with monkeypatch.context() as broken:
        broken.setitem(take.STEPS, "trouble", busy)
        with pytest.raises(OperationalError):
            upload(db, phone, [trouble(course, at(8, 10))], at(8, 11))
