"""What was in force when, as it was known at one now."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

from sqlalchemy.orm import Session

from homeprog.domain.timetable import course_day, lay_out
from homeprog.services.hold_course import hold_course, resume
from homeprog.storage.models import CourseEvent, WakingHours, ZoneStay
from homeprog.storage.timelines import (
    holds_of,
    phase_in_force,
    regime_in_force,
    settings_of,
    zone_at,
)
from tests.regime_cast import OnRegime, a_clinic, a_course, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
LATER = NOW + timedelta(days=2)


def close(db: Session, cast: OnRegime, now: datetime) -> None:
    event = CourseEvent(
        at=now, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="closed",
        figures={"reason": "completed"},
    )  # fmt: skip
    db.add(event)
    db.flush()


def fly(db: Session, cast: OnRegime, zone: str, now: datetime) -> None:
    db.add(
        ZoneStay(
            at=now, clinic_id=cast.clinic.id, patient_id=cast.patient.id, zone=zone, starts=now,
            said_by="phone",
        )
    )  # fmt: skip
    db.flush()


def test_a_course_without_a_regime_has_days_but_no_slots(db):
    clinic = a_clinic(db, NOW)
    course = a_course(db, clinic, NOW.date(), NOW)
    settings = settings_of(db, course, LATER)
    assert course_day(settings, LATER) == LATER.date()
    assert lay_out(settings, LATER + timedelta(days=9)) == ()
    assert regime_in_force(db, course, LATER) is None


def test_what_was_saved_later_is_not_seen(db):
    cast = on_regime(db, NOW)
    before = settings_of(db, cast.course, NOW)
    fly(db, cast, "Asia/Tokyo", LATER)
    close(db, cast, LATER)
    assert settings_of(db, cast.course, LATER - timedelta(seconds=1)) == before


def test_closing_ends_the_phase_at_the_next_whole_minute(db):
    cast = on_regime(db, NOW)
    close(db, cast, LATER)
    last = settings_of(db, cast.course, LATER)[-1]
    assert (last.at, last.phase, last.asked) == (
        datetime(2026, 6, 7, 13, 11, tzinfo=UTC), None, (),
    )  # fmt: skip
    assert phase_in_force(db, cast.course, LATER) is None
    slots = lay_out(settings_of(db, cast.course, LATER), LATER + timedelta(days=9))
    assert max(slot.start for slot in slots) < last.at


def test_a_zone_counts_from_when_it_was_said_and_the_clinics_until_then(db):
    cast = on_regime(db, NOW)
    fly(db, cast, "Asia/Tokyo", LATER)
    assert zone_at(db, cast.patient.id, LATER - timedelta(minutes=1)) == "Europe/London"
    assert zone_at(db, cast.patient.id, LATER + timedelta(minutes=1)) == "Asia/Tokyo"
    zones = [(s.at, s.zone) for s in settings_of(db, cast.course, LATER)][-2:]
    assert zones == [
        (datetime(2026, 6, 5, 13, 11, tzinfo=UTC), "Europe/London"),
        (datetime(2026, 6, 7, 13, 11, tzinfo=UTC), "Asia/Tokyo"),
    ]


def test_the_same_zone_said_again_is_no_change(db):
    cast = on_regime(db, NOW)
    fly(db, cast, "Europe/London", LATER)
    assert len(settings_of(db, cast.course, LATER)) == len(settings_of(db, cast.course, NOW))


def test_waking_hours_of_one_weekday_change_from_when_they_are_valid(db):
    cast = on_regime(db, NOW)
    db.add(
        WakingHours(
            at=LATER, clinic_id=cast.clinic.id, patient_id=cast.patient.id, weekday=0,
            wake=time(9), sleep=time(1), valid_from=LATER + timedelta(days=1),
        )
    )  # fmt: skip
    db.flush()
    before, after = settings_of(db, cast.course, LATER)[-2:]
    assert before.week[0].wake == time(7)
    assert (after.week[0].wake, after.week[0].sleep) == (time(9), time(1))
    assert after.week[1] == before.week[1]
    assert after.at == datetime(2026, 6, 8, 13, 11, tzinfo=UTC)


def test_a_hold_is_open_until_its_end_is_received(db):
    cast = on_regime(db, NOW)
    hold = hold_course(db, cast.therapist, cast.course.id, "stop_flag", "fell", NOW)
    resume(db, cast.therapist, hold.id, "intact", LATER)
    assert holds_of(db, cast.course, LATER - timedelta(seconds=1))[0].end is None
    assert holds_of(db, cast.course, LATER)[0].end == LATER
