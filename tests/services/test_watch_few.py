"""Few logged, and reminders that do not arrive, from rows to alerts."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.alert import why, words
from homeprog.domain.errors import Invalid
from homeprog.services.actor import Actor
from homeprog.services.hold_course import hold_course
from homeprog.services.open_alert import open_alert
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_clinic import set_clinic
from homeprog.services.settle_alert import settle_alert
from homeprog.storage.alerts import events_of
from homeprog.storage.models import (
    Course,
    Device,
    Visit,
)
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    clinician_of,
    go,
    late,
    log,
    log_slots,
    on_dynamic,
    phone_of,
    reminded,
    texts_signed,
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
    assert "0 of the 5 due times that are known were logged, on Wednesday 3 June" in seen
    assert "once in 150 days" in why("few_logged", told.figures)


def test_a_slot_counts_as_soon_as_the_clinics_own_timely_minutes_are_over(db: Session) -> None:
    """The same with 20 minutes: the fifth is past at 13:20."""
    course = on_dynamic(db).course
    set_clinic(db, Actor(course.clinic_id, "system"), {"settings": {"timely_minutes": 20}}, WED)
    phone = phone_of(db, course)
    for hour in range(9, 14):
        assert alert(db, "few_logged") is None, hour
        word(db, phone, at(hour, 25, 3))
        go(db, at(hour, 24, 3), at(hour, 25, 3))
    assert alert(db, "few_logged").figures["known"] == 5


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
    by = clinician_of(db, course)
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
    texts_signed(db, course)
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, clinician_of(db, course), course.id, signed, at(7, 30, 5))
    go(db, at(7, 30, 5), at(7, 32, 5))
    assert alert(db, "few_logged").state == "passed"


def test_only_the_first_release_has_a_head_start(db: Session) -> None:
    """5 of 5 missed ring with it; without it they come to 2.116 of 3.96."""
    course, phone = low(db)
    texts_signed(db, course)
    signed = Signed("dynamic", splint_fitted=True, hand_examined=True)
    release_phase(db, clinician_of(db, course), course.id, signed, at(7, 0, 5))
    for hour in range(8, 13):
        word(db, phone, at(hour, 50, 5))
        go(db, at(hour, 49, 5), at(hour, 50, 5))
    assert [row.state for row in alerts(db, "few_logged")] == ["passed"]


def test_a_paused_course_is_not_told_of_and_its_open_alert_passes(db: Session) -> None:
    course, _ = low(db)
    hold_course(db, clinician_of(db, course), course.id, "pause", "away", at(8, 0, 5))
    go(db, at(8, 0, 5), at(9, 0, 5))
    assert alert(db, "few_logged").state == "passed"


def accepted_at_four_of_ten(db: Session, visit: date | None = None) -> tuple[Course, Device]:
    """Few logged settled by accepting the level: 6 of the 15 times of 5 and 6 June."""
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    for day in (4, 5, 6):
        log_slots(db, course, phone, day, range(6, 12))
    log_slots(db, course, phone, 3, range(8, 13))
    go(db, WED, at(6, 0, 4), minutes=240)
    go(db, at(22, 31, 6), at(7, 0, 7))
    if visit is not None:
        planned = Visit(
            at=at(7, 10, 7), clinic_id=course.clinic_id, course_id=course.id, planned=visit,
            kind="review",
        )  # fmt: skip
        db.add(planned)
        db.flush()
    by, held = clinician_of(db, course), alert(db, "few_logged")
    settle_alert(db, by, held.id, "talked_through", "", at(7, 30, 7), accept=True)
    return course, phone


def test_a_level_accepted_is_the_new_steady_one_and_only_a_fall_from_it_rings(db: Session) -> None:
    course, phone = accepted_at_four_of_ten(db)
    for day in (7, 8, 9, 10):
        log_slots(db, course, phone, day, range(8 if day == 7 else 6, 12))
    go(db, at(22, 31, 10), at(7, 0, 11), minutes=120)
    assert len(alerts(db, "few_logged")) == 1  # as low as before
    word(db, phone, at(22, 30, 16))  # nothing logged on six days
    go(db, at(22, 29, 16), at(7, 0, 17), minutes=120)
    told = alert(db, "few_logged")
    assert (told.state, told.figures["accepted"], told.figures["p0"]) == ("open", True, 0.4)
    assert "Lower than the 40 % that was accepted" in words("few_logged", told.figures)[1][2]


def test_the_same_days_ring_where_the_level_was_not_accepted(db: Session) -> None:
    course, phone = accepted_at_four_of_ten(db, visit=date(2026, 6, 9))
    for day in (7, 8, 9, 10):
        log_slots(db, course, phone, day, range(8 if day == 7 else 6, 12))
    go(db, at(22, 31, 8), at(23, 30, 8), minutes=120)
    assert len(alerts(db, "few_logged")) == 1
    go(db, at(22, 31, 10), at(7, 0, 11), minutes=120)  # the visit's day has come
    told = alert(db, "few_logged")
    assert (told.state, told.figures["accepted"], told.figures["p0"]) == ("open", False, 0.85)


def test_a_false_alarm_is_marked_on_the_settlement(db: Session) -> None:
    course, _ = low(db)
    held = alert(db, "few_logged")
    settle_alert(
        db, clinician_of(db, course), held.id, "no_action", "did all, logged on paper",
        at(7, 30, 5), false_alarm=True,
    )  # fmt: skip
    last = next(e for e in events_of(db, [held.id])[held.id] if e.what == "settled")
    assert last.figures["false_alarm"] is True
    assert "accepted_level" not in last.figures


def test_of_other_kinds_no_level_is_accepted(db: Session) -> None:
    course = on_dynamic(db).course
    held = open_alert(db, course, "no_contact", "today", {}, WED)
    assert held is not None
    with pytest.raises(Invalid) as refused:
        settle_alert(db, clinician_of(db, course), held.id, "rang", "", WED, accept=True)
    assert list(refused.value.fields) == ["accept"]


# Reminders


def test_reminders_that_do_not_arrive_take_the_place_of_few_logged(db: Session) -> None:
    course = on_dynamic(db).course
    phone = p.phone(db, course, receipt_proven=True, at=WED)
    go(db, WED, at(8, 5, 3), minutes=1)  # the day's reminders are planned
    reminded(db, course, phone, range(8, 10))
    word(db, phone, at(20, 50, 3))
    go(db, at(20, 49, 3), at(20, 50, 3))
    assert alert(db, "few_logged") is None
    told = alert(db, "reminders_not_arriving")
    assert (told.state, told.level) == ("open", "today")
    assert (told.figures["not_shown"], told.figures["of"]) == (9, 10)  # 9:00 alone was shown


def test_where_reminders_cannot_arrive_the_level_is_accepted_as_of_few_logged(db: Session) -> None:
    course = on_dynamic(db).course
    phone = p.phone(db, course, receipt_proven=True, at=WED)
    go(db, WED, at(8, 5, 3), minutes=1)
    reminded(db, course, phone, range(8, 10))
    word(db, phone, at(20, 50, 3))
    go(db, at(20, 49, 3), at(20, 50, 3))
    by, held = clinician_of(db, course), alert(db, "reminders_not_arriving")
    settle_alert(db, by, held.id, "talked_through", "", at(21, 0, 3), accept=True)
    for day in (4, 5, 6):
        log_slots(db, course, phone, day, range(6, 8))
    go(db, at(22, 31, 6), at(7, 0, 7))
    assert len(alerts(db, "reminders_not_arriving") + alerts(db, "few_logged")) == 1


def test_reminders_shown_leave_it_few_logged(db: Session) -> None:
    course = on_dynamic(db).course
    phone = p.phone(db, course, receipt_proven=True, at=WED)
    go(db, WED, at(8, 5, 3), minutes=1)
    reminded(db, course, phone, range(8, 18))
    word(db, phone, at(20, 50, 3))
    go(db, at(20, 49, 3), at(20, 50, 3))
    assert alert(db, "few_logged").state == "open"
    assert alert(db, "reminders_not_arriving") is None


def test_a_phone_whose_receipts_were_never_proven_leaves_it_few_logged(db: Session) -> None:
    course = on_dynamic(db).course
    phone = p.phone(db, course, at=WED)
    go(db, WED, at(8, 5, 3), minutes=1)
    reminded(db, course, phone, range(0))
    word(db, phone, at(20, 50, 3))
    go(db, at(20, 49, 3), at(20, 50, 3))
    assert alert(db, "few_logged").state == "open"
