"""Silence: due times in a row without a log, no answer, in clinic hours."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from homeprog.domain.alert import words
from homeprog.services.hold_course import hold_course
from homeprog.services.settle_alert import settle_alert
from homeprog.storage.models import Course, Device
from tests.services import prompt_cast as p
from tests.services.prompt_cast import at
from tests.services.watch_cast import (
    WED,
    alert,
    alerts,
    all_well,
    clinician_of,
    go,
    late,
    log,
    log_slots,
    on_dynamic,
    open_on_weekdays,
    phone_of,
    reminded,
    word,
)

R = 14  # of 15 times a day at 1 in 300 patient-days, by the rule's own chain


def talkative(db: Session, phone: Device, since: datetime, until: datetime) -> None:
    """A word every hour, and the jobs after it."""
    now = since
    while now < until:
        word(db, phone, now)
        go(db, now - timedelta(minutes=1), now)
        now += timedelta(hours=1)


def fell_silent(db: Session, phone: Device | None = None) -> tuple[Course, Device]:
    """All of 3 and 4 June logged, the last at 20:30 of 4 June; the phone speaks on."""
    course = on_dynamic(db).course
    phone = phone or phone_of(db, course)
    log_slots(db, course, phone, 3, range(8, 21))
    log_slots(db, course, phone, 4, range(6, 21))
    go(db, WED, at(6, 0, 4), minutes=240)
    go(db, at(22, 31, 4), at(5, 0, 5), minutes=240)
    return course, phone


def test_it_rings_after_the_last_of_the_row_not_a_slot_before(db: Session) -> None:
    """14 times in a row from 6:00 of 5 June: the last of them, of 19:00, is past at 20:45."""
    course, phone = fell_silent(db)
    talkative(db, phone, at(6, 50, 5), at(20, 0, 5))
    assert alert(db, "silence") is None
    talkative(db, phone, at(20, 50, 5), at(21, 0, 5))
    told = alert(db, "silence")
    assert told is not None
    assert (told.state, told.level) == ("open", "today")
    assert (told.figures["slots"], told.figures["r"]) == (R, R)
    assert told.figures["since"] == at(6, 0, 5).isoformat()
    assert told.figures["last_bout"] == at(20, 30, 4).isoformat()
    assert (
        "The last 14 due times, from Friday 5 June 06:00 on, passed without a log"
        in words("silence", told.figures)[1][0]
    )
    assert course.id == told.course_id


def rung(db: Session) -> tuple[Course, Device]:
    course, phone = fell_silent(db)
    talkative(db, phone, at(6, 50, 5), at(21, 0, 5))
    assert alert(db, "silence").state == "open"
    return course, phone


def test_a_log_of_any_time_ends_it(db: Session) -> None:
    course, phone = rung(db)
    log(db, course, phone, at(21, 10, 5))
    talkative(db, phone, at(21, 50, 5), at(22, 0, 5))
    assert alert(db, "silence").state == "passed"


def test_something_is_wrong_is_no_answer_that_calms_staff(db: Session) -> None:
    course, phone = rung(db)
    all_well(db, course, phone, at(21, 5, 5), "something_wrong")
    go(db, at(21, 5, 5), at(21, 7, 5))
    assert alert(db, "silence").state == "open"


def test_an_answer_ends_it_and_on_the_next_day_it_is_asked_anew(db: Session) -> None:
    course, phone = rung(db)
    all_well(db, course, phone, at(21, 5, 5), "busy")
    talkative(db, phone, at(21, 50, 5), at(22, 0, 5))
    assert alert(db, "silence").state == "passed"
    talkative(db, phone, at(5, 50, 6), at(6, 59, 6))
    assert len(alerts(db, "silence")) == 1  # asked at the waking, an hour has not gone by
    talkative(db, phone, at(7, 50, 6), at(8, 0, 6))
    assert [row.state for row in alerts(db, "silence")] == ["passed", "open"]


def test_settled_it_stays_quiet_while_the_silence_lasts(db: Session) -> None:
    course, phone = rung(db)
    settle_alert(db, clinician_of(db, course), alert(db, "silence").id, "rang", "", at(21, 30, 5))
    talkative(db, phone, at(21, 50, 5), at(12, 0, 6))
    assert len(alerts(db, "silence")) == 1
    log(db, course, phone, at(12, 10, 6))
    talkative(db, phone, at(12, 50, 6), at(13, 0, 6))
    talkative(db, phone, at(13, 50, 6), at(14, 0, 7))  # 14 more times: it has come back
    assert len(alerts(db, "silence")) == 2


def test_in_the_night_and_at_weekends_it_waits_for_the_clinic_to_open(db: Session) -> None:
    """Friday 5 June; the clinic is open Monday to Friday 9 to 17 in London, 8:00 UTC."""
    course, phone = fell_silent(db)
    open_on_weekdays(db, course)
    word(db, phone, at(21, 50, 5))
    word(db, phone, at(21, 50, 7))
    go(db, at(21, 0, 5), at(22, 0, 7), minutes=300)
    assert alert(db, "silence") is None
    go(db, at(7, 50, 8), at(8, 0, 8), minutes=1)
    assert alert(db, "silence").at == at(8, 0, 8)
    go(db, at(16, 50, 8), at(17, 30, 8), minutes=10)
    assert alert(db, "silence").state == "open"  # closing time ends nothing


def test_a_reminder_that_was_not_shown_is_not_of_the_row(db: Session) -> None:
    """With push: only times whose reminder was shown, or of which it is not known, count."""
    course = on_dynamic(db).course
    phone = p.phone(db, course, receipt_proven=True, at=WED)
    fell = fell_silent_at(db, course, phone)
    go(db, at(6, 0, 5), at(6, 5, 5), minutes=1)
    reminded(db, course, phone, range(0))  # sent, shown nowhere
    talkative(db, phone, fell, at(22, 0, 5))
    assert alert(db, "silence") is None


def fell_silent_at(db: Session, course: Course, phone: Device) -> datetime:
    log_slots(db, course, phone, 3, range(8, 21))
    log_slots(db, course, phone, 4, range(6, 21))
    go(db, WED, at(6, 0, 4), minutes=240)
    go(db, at(22, 31, 4), at(5, 0, 5), minutes=240)
    return at(6, 50, 5)


def test_a_phone_that_says_nothing_is_no_contact_and_not_silence(db: Session) -> None:
    course, _ = fell_silent(db)
    go(db, at(6, 0, 5), at(12, 0, 7), minutes=180)
    assert alert(db, "no_contact").state == "open"
    assert alert(db, "silence") is None
    assert course.id == alert(db, "no_contact").course_id


def test_no_contact_holds_an_open_silence_under_it(db: Session) -> None:
    rung(db)
    go(db, at(21, 0, 5), at(7, 0, 7), minutes=300)
    assert alert(db, "no_contact").state == "open"
    assert alert(db, "silence").state == "passed"


def test_nobody_is_silent_while_stopped(db: Session) -> None:
    course, phone = fell_silent(db)
    hold_course(db, clinician_of(db, course), course.id, "hospital", "flu", at(12, 0, 5))
    talkative(db, phone, at(12, 50, 5), at(12, 0, 7))
    assert alert(db, "silence") is None


def test_before_anything_is_logged_it_is_not_started_that_tells(db: Session) -> None:
    course = on_dynamic(db).course
    phone = phone_of(db, course)
    talkative(db, phone, at(8, 50, 3), at(5, 55, 5))
    assert alert(db, "silence") is None
    assert alert(db, "not_started") is None
    talkative(db, phone, at(6, 0, 5), at(6, 1, 5))
    told = alert(db, "not_started")
    assert (told.state, told.level) == ("open", "today")
    assert told.figures["first"] == "2026-06-03"
    log(db, course, phone, at(6, 30, 5))
    late(db, course, phone, at(6, 30, 5), at(6, 31, 5))  # as an upload does
    go(db, at(6, 31, 5), at(6, 32, 5))
    assert alert(db, "not_started").state == "passed"


def test_without_a_phone_nothing_tells_that_it_is_not_started(db: Session) -> None:
    on_dynamic(db)
    go(db, at(8, 50, 3), at(6, 1, 6), minutes=300)
    assert alert(db, "not_started") is None
