"""The times in a patient's calendar are those of the reminders."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta

import icalendar
import pytest
from sqlalchemy.orm import Session

from homeprog.services.calendar_times import CalendarTold, calendar_mark, tell_calendar
from homeprog.storage.models import Course, Device, Staff, WakingHours
from tests.services.prompt_cast import FRIDAY, at, closed, hourly, phone, quiet, revise, therapist

NOON = at(13)


@pytest.fixture
def anna(db: Session) -> Staff:
    return therapist(db)


@pytest.fixture
def course(db: Session, anna: Staff) -> Course:
    """Every hour from 7 to 22 in London, from Friday 5 June 2026 on."""
    return hourly(db, anna)


@pytest.fixture
def device(db: Session, course: Course) -> Device:
    return phone(db, course, endpoint="")


def told(db: Session, device: Device, now: datetime = NOON) -> CalendarTold:
    made = tell_calendar(db, device, now)
    assert made is not None
    return made


def rings(db: Session, device: Device) -> dict[str, str]:
    """Wall-clock time -> its weekdays, of what rings with a sound; 'silent' leads the others."""
    events = icalendar.Calendar.from_ical(told(db, device).text).walk("VEVENT")
    return {
        ("" if each.walk("VALARM") else "silent ") + f"{each.decoded('DTSTART'):%H:%M}": ",".join(
            each["RRULE"]["BYDAY"]
        )
        for each in events
    }


def awake(
    db: Session, device: Device, days: Iterable[int], wake: time, sleep: time, since: datetime
) -> None:
    for weekday in days:
        db.add(
            WakingHours(
                clinic_id=device.clinic_id, at=since, patient_id=device.patient_id,
                weekday=weekday, wake=wake, sleep=sleep, valid_from=since,
            )
        )  # fmt: skip
    db.flush()


WEEK = "MO,TU,WE,TH,FR,SA,SU"


def test_it_rings_at_each_slots_start_and_makes_no_sound_near_waking_and_sleep(
    db: Session, device: Device
) -> None:
    found = rings(db, device)
    assert found.pop("silent 07:00") == WEEK
    assert found == {f"{hour:02d}:00": WEEK for hour in range(8, 22)}


def test_each_weekday_has_its_own_waking_hours(db: Session, course: Course, device: Device) -> None:
    awake(db, device, (5, 6), time(10), time(20), FRIDAY)
    found = rings(db, device)
    assert (found["08:00"], found["silent 10:00"]) == ("MO,TU,WE,TH,FR", "SA,SU")
    assert (found["10:00"], found["19:00"]) == ("MO,TU,WE,TH,FR", WEEK)


def test_weekly_quiet_times_do_not_ring(db: Session, course: Course, device: Device) -> None:
    quiet(db, course, at(6), kind="weekly", weekday=0, opens=time(12, 30), closes=time(15))
    found = rings(db, device)
    assert (found["12:00"], found["13:00"]) == (WEEK, "TU,WE,TH,FR,SA,SU")


def test_fewer_reminders_are_fewer_rings(db: Session, course: Course, device: Device) -> None:
    quiet(db, course, at(6), kind="fewer", fewer="every_second")
    assert set(rings(db, device)) == {"silent 07:00", *(f"{h:02d}:00" for h in range(9, 22, 2))}


def test_quiet_for_an_hour_is_not_for_a_fortnight(
    db: Session, course: Course, device: Device
) -> None:
    quiet(db, course, at(12, 30), kind="until", ends=at(14))
    assert len(rings(db, device)) == 15


def test_it_begins_tomorrow_and_ends_with_the_plan_on_the_phone(
    db: Session, device: Device
) -> None:
    made = told(db, device)
    events = icalendar.Calendar.from_ical(made.text).walk("VEVENT")
    assert {each.decoded("DTSTART").date().isoformat() for each in events} == {"2026-06-06"}
    assert made.last.isoformat() == "2026-06-19"


def test_the_mark_changes_with_the_times_and_not_with_the_clock(
    db: Session, anna: Staff, course: Course, device: Device
) -> None:
    mark = told(db, device).mark
    assert calendar_mark(db, device, at(9, day=12)) == mark
    assert calendar_mark(db, device, at(9, day=6)) == mark
    revise(db, course, anna, at(14), "bend", "massage")
    assert calendar_mark(db, device, at(15)) == mark  # the same hours ring once for both
    quiet(db, course, at(15), kind="fewer", fewer="four_a_day")
    assert calendar_mark(db, device, at(15, 30)) != mark


def test_the_mark_stays_over_a_change_of_the_clocks(db: Session, anna: Staff) -> None:
    march = datetime(2026, 3, 16, 6, tzinfo=UTC)  # 01:00 to 02:00 of the 29th does not exist
    course = hourly(db, anna, now=march, number="SH 2")
    device = phone(db, course, endpoint="")
    work_by_night = march + timedelta(hours=1)
    awake(db, device, range(7), time(18), time(9), work_by_night)
    days = (march + timedelta(days=n, hours=5) for n in range(1, 20))
    assert len({calendar_mark(db, device, each) for each in days}) == 1


def test_nothing_is_told_while_nothing_is_planned(
    db: Session, course: Course, device: Device
) -> None:
    closed(db, course, at(12))
    assert tell_calendar(db, device, at(13)) is None
    assert calendar_mark(db, device, at(13)) is None


def test_the_file_names_nobody_and_no_condition(db: Session, device: Device) -> None:
    text = told(db, device).text.lower()
    for word in ("grace", "obi", "sh 4", "hand", "finger", "bend", "exercise", "splint", "harbour"):
        assert word not in text, word
    assert device.patient_id.hex not in text.replace("-", "")
