"""Few logged, and reminders that do not arrive, from rows to alerts."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.alert import why, words
from homeprog.services.actor import Actor
from homeprog.services.hold_course import hold_course
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.settle_alert import settle_alert
from homeprog.storage.models import Course, Device, Staff
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    go,
    late,
    log,
    log_slots,
    on_dynamic,
    phone_of,
    word,
)


def test_it_rings_within_the_day_once_the_sum_is_reached_not_a_slot_before(db: Session) -> None:
    """Released at 8:00 of 3 June, nothing logged, the phone heard of: S begins at h/2 = 1.98.

    15 times a day: h is 3.96; 4 of 4 missed add 1.967, 5 of 5 2.116 (by the rule's own code,
    which has tests of its own). The fifth is past at 13:45.
    """
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    for hour in range(9, 14):
        assert alert(db, "few_logged") is None, hour
        word(db, phone, at(hour, 50, 3))
        go(db, at(hour, 49, 3), at(hour, 50, 3))
    told = alert(db, "few_logged")
    assert told is not None
    assert (told.state, told.level, told.rule_version) == ("open", "today", 2)
    assert (told.figures["slots_a_day"], told.figures["h"]) == (15, 3.96)
    assert told.figures["sum"] == 4.1
    assert (told.figures["reached"], told.figures["known"]) == (0, 5)
    assert told.figures["first"] == told.figures["last"] == "2026-06-03"
    seen = words("few_logged", told.figures)[1][0]
    assert "0 of 5 known times logged on Wednesday 3 June" in seen
    assert "once in 150 days" in why("few_logged", told.figures)


def test_a_steady_patient_is_left_alone(db: Session) -> None:
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    for day in range(3, 9):
        log_slots(db, course, phone, day, range(8 if day == 3 else 6, 19))  # 13 of 15
    go(db, WED, at(6, 0, 4), minutes=240)
    go(db, at(22, 31, 8), at(7, 0, 9), minutes=120)
    assert alert(db, "few_logged") is None


def test_without_a_word_from_the_phone_nothing_is_known_and_nothing_rings(db: Session) -> None:
    phone_of(db, on_dynamic(db).course)
    go(db, WED, at(7, day=8), minutes=120)
    assert alert(db, "few_logged") is None


def test_a_late_upload_takes_its_grounds_away(db: Session) -> None:
    course, phone = low(db)
    for day in (3, 4):
        for hour in range(8, 21):
            log(db, course, phone, at(hour, 30, day), at=at(10, day=5), entered_at=at(9, day=5))
    late(db, course, phone, at(8, day=3), at(10, day=5))
    go(db, at(9, 59, 5), at(10, 1, 5))
    assert alert(db, "few_logged").state == "passed"


def low(db: Session) -> tuple[Course, Device]:
    """A course with an open alert of few logged on the morning of 5 June."""
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    log_slots(db, course, phone, 4, range(6, 8))
    go(db, WED, at(6, 0, 4), minutes=240)
    go(db, at(22, 31, 4), at(7, 0, 5))
    assert alert(db, "few_logged").state == "open"
    return course, phone


def test_settlement_begins_the_sum_anew_and_it_comes_back_only_by_new_days(db: Session) -> None:
    course, phone = low(db)
    by = regime_by(db, course)
    settle_alert(db, by, alert(db, "few_logged").id, "rang", "", at(7, 30, 5))
    for hour in range(8, 12):
        word(db, phone, at(hour, 50, 5))
        go(db, at(hour, 49, 5), at(hour, 50, 5))
    assert len(alerts(db, "few_logged")) == 1  # S is far from h after 3 missed slots
    word(db, phone, at(22, 0, 6))  # nothing logged on two days
    go(db, at(22, 0, 6), at(7, 0, 7))
    first, second = alerts(db, "few_logged")
    assert (first.state, second.state) == ("settled", "open")
    assert datetime.fromisoformat(second.figures["since"]) == at(7, 30, 5)


def test_a_release_begins_the_sum_anew(db: Session) -> None:
    course, _ = low(db)
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, regime_by(db, course), course.id, signed, at(7, 30, 5))
    go(db, at(7, 30, 5), at(7, 32, 5))
    assert alert(db, "few_logged").state == "passed"


def test_only_the_first_release_has_a_head_start(db: Session) -> None:
    """5 of 5 missed ring with it; without it they come to 2.116 of 3.96."""
    course, phone = low(db)
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, regime_by(db, course), course.id, signed, at(7, 0, 5))
    for hour in range(8, 13):
        word(db, phone, at(hour, 50, 5))
        go(db, at(hour, 49, 5), at(hour, 50, 5))
    assert [row.state for row in alerts(db, "few_logged")] == ["passed"]


def test_a_paused_course_is_not_told_of_and_its_open_alert_passes(db: Session) -> None:
    course, _ = low(db)
    hold_course(db, regime_by(db, course), course.id, "pause", "away", at(8, 0, 5))
    go(db, at(8, 0, 5), at(9, 0, 5))
    assert alert(db, "few_logged").state == "passed"


def regime_by(db: Session, course: Course) -> Actor:
    """A clinician of the course's clinic."""
    who = db.scalars(select(Staff).where(Staff.clinic_id == course.clinic_id)).first()
    assert who is not None
    return Actor(course.clinic_id, "staff", who.id, "therapist", "hand_therapist")
