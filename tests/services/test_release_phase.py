"""A phase begins only when a clinician releases it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid
from homeprog.domain.timetable import cut_slots, lay_out
from homeprog.services.hold_course import hold_course
from homeprog.services.release_phase import Signed, release_phase
from homeprog.storage.models import CourseEvent, Release, Staff
from homeprog.storage.timelines import (
    exercises_in_force,
    open_holds,
    phase_in_force,
    settings_of,
)
from tests import cast as people
from tests.regime_cast import CONTROLLED, OnRegime, confirm, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
LATER = NOW + timedelta(hours=2)
DYNAMIC = Signed("dynamic", splint_fitted=True, hand_examined=True)
HOOK = "hook"


def release(db: Session, cast: OnRegime, signed: Signed, now: datetime = LATER) -> Release:
    return release_phase(db, cast.therapist, cast.course.id, signed, now)


def test_until_its_release_the_phase_before_goes_on(db):
    cast = on_regime(db, NOW, release=None)
    assert phase_in_force(db, cast.course, LATER).key == "dressing"
    slots = lay_out(settings_of(db, cast.course, LATER), LATER + timedelta(days=14))
    assert {slot.exercise for slot in slots} == {"shoulder", "finger_tips"}


def test_a_release_is_in_force_from_the_next_whole_minute(db):
    cast = on_regime(db, NOW, release=None)
    row = release(db, cast, DYNAMIC)
    assert row.starts == datetime(2026, 6, 5, 15, 11, tzinfo=UTC)
    phases = [(s.at, s.phase) for s in settings_of(db, cast.course, LATER)]
    assert phases == [
        (datetime(2026, 6, 5, 13, 10, tzinfo=UTC), None),
        (datetime(2026, 6, 5, 13, 11, tzinfo=UTC), "dressing"),
        (datetime(2026, 6, 5, 15, 11, tzinfo=UTC), "dynamic"),
    ]


def test_a_hand_not_examined_or_a_splint_not_fitted_is_no_release(db):
    cast = on_regime(db, NOW, release=None)
    with pytest.raises(Invalid) as refused:
        release(db, cast, Signed("dynamic", splint_fitted=False, hand_examined=False))
    assert set(refused.value.fields) == {"splint_fitted", "hand_examined"}


def test_before_its_earliest_day_a_release_needs_a_reason(db):
    cast = on_regime(db, NOW, release=None, operated_days_ago=6)
    with pytest.raises(Invalid) as refused:
        release(db, cast, DYNAMIC)
    assert refused.value.fields == {"reason": ["Earliest day 7; this is day 6. Give the reason."]}
    assert release(db, cast, replace(DYNAMIC, reason="the surgeon asks")).note == "the surgeon asks"


def test_on_its_earliest_day_it_needs_none(db):
    cast = on_regime(db, NOW, release=None, operated_days_ago=7)
    assert release(db, cast, DYNAMIC).note is None


def test_going_back_by_telephone_needs_the_splint_at_hand_and_a_reason(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid) as refused:
        release(db, cast, Signed("static", splint_fitted=True, hand_examined=False))
    assert set(refused.value.fields) == {"hand_examined"}
    with pytest.raises(Invalid) as missing:
        release(db, cast, Signed("static", False, False, reason="more pain"))
    assert set(missing.value.fields) == {"splint_fitted"}
    release(db, cast, Signed("static", True, False, reason="more pain"))
    assert phase_in_force(db, cast.course, LATER).key == "static"


def test_going_back_excuses_the_hour_in_progress(db):
    cast = on_regime(db, NOW)
    release(db, cast, Signed("static", True, True))
    settings = settings_of(db, cast.course, LATER)
    slots = lay_out(settings, LATER + timedelta(hours=1))
    at = datetime(2026, 6, 5, 15, 11, tzinfo=UTC)
    assert cut_slots(settings, slots)["bend_to_stop", datetime(2026, 6, 5, 15, tzinfo=UTC)] == at


def test_a_release_outlives_what_is_signed_later_for_another_course(db):
    one, other = on_regime(db, NOW), on_regime(db, NOW, release=None)
    release(db, other, Signed("static", True, True))
    assert phase_in_force(db, one.course, LATER).key == "dynamic"


def test_only_a_clinician_releases(db):
    cast = on_regime(db, NOW, release=None)
    clerk = replace(cast.therapist, profession=None)
    with pytest.raises(Forbidden):
        release_phase(db, clerk, cast.course.id, DYNAMIC, LATER)


def test_after_a_corrected_fact_the_course_is_confirmed_again_before_a_release(db):
    cast = on_regime(db, NOW)
    hold_course(db, cast.therapist, cast.course.id, "until_release", "side corrected", LATER)
    corrected = CourseEvent(
        at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="facts_corrected",
        figures={},
    )  # fmt: skip
    db.add(corrected)
    db.flush()
    later = LATER + timedelta(minutes=10)
    with pytest.raises(Conflict) as refused:
        release(db, cast, DYNAMIC, later)
    assert refused.value.code == "confirm_again"
    confirm(db, cast.course, later)
    release(db, cast, DYNAMIC, later + timedelta(minutes=1))
    assert open_holds(db, cast.course, later + timedelta(minutes=1)) == []


def test_an_exercise_held_apart_is_not_asked_for_until_it_is_released(db):
    cast = on_regime(db, NOW, template=CONTROLLED, release="controlled_active")
    held = [e.key for e in phase_in_force(db, cast.course, LATER).exercises if e.held_until_release]
    assert held
    asked = {each.key for each in exercises_in_force(db, cast.course, LATER)}
    assert not asked & set(held)
    signed = Signed("controlled_active", False, hand_examined=True, exercise=held[0])
    row = release(db, cast, signed)
    assert held[0] in {each.key for each in exercises_in_force(db, cast.course, LATER)}
    assert settings_of(db, cast.course, LATER)[-1].at == row.starts


def test_going_back_and_forth_holds_an_exercise_again(db):
    cast = on_regime(db, NOW, template=CONTROLLED, release="controlled_active")
    phase = phase_in_force(db, cast.course, LATER)
    held = next(e.key for e in phase.exercises if e.held_until_release)
    release(db, cast, Signed(phase.key, False, True, exercise=held))
    release(db, cast, Signed(phase.key, True, True), LATER + timedelta(days=1))
    asked = exercises_in_force(db, cast.course, LATER + timedelta(days=1))
    assert held not in {each.key for each in asked}


def test_an_exercise_that_is_not_held_has_no_release_of_its_own(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid) as refused:
        release(db, cast, Signed("dynamic", False, True, exercise="shoulder"))
    assert set(refused.value.fields) == {"exercise"}


def test_a_hold_until_release_of_one_exercise_ends_with_its_release(db):
    cast = on_regime(db, NOW)
    hold_course(
        db, cast.therapist, cast.course.id, "until_release", "sore shoulder", LATER,
        exercise="shoulder",
    )  # fmt: skip
    release(db, cast, Signed("dynamic", False, True, exercise="shoulder"), LATER)
    assert open_holds(db, cast.course, LATER) == []


def test_the_first_motion_of_the_repair_is_not_signed_ahead(db):
    cast = on_regime(db, NOW, release="static")
    with pytest.raises(Invalid) as refused:
        release(db, cast, replace(DYNAMIC, not_before=date(2026, 6, 8)))
    assert "not_before" in refused.value.fields


def test_a_release_signed_ahead_does_not_begin_by_itself(db):
    cast = on_regime(db, NOW, operated_days_ago=20)
    ahead = Signed("dynamic_wide", True, True, not_before=date(2026, 6, 10))
    assert release(db, cast, ahead).starts is None
    assert phase_in_force(db, cast.course, LATER + timedelta(days=9)).key == "dynamic"
    with pytest.raises(Invalid):
        release(db, cast, replace(ahead, not_before=date(2026, 6, 16)))


def test_an_unconfirmed_course_has_nothing_to_release(db):
    cast = on_regime(db, NOW, release=None)
    event = db.query(CourseEvent).filter_by(course_id=cast.course.id).one()
    db.delete(event)
    db.flush()
    with pytest.raises(Conflict) as refused:
        release(db, cast, DYNAMIC)
    assert refused.value.code == "not_confirmed"


def test_a_stage_whose_texts_a_paired_phone_would_miss_is_not_released_but_going_back_is(db):
    cast = on_regime(db, NOW, release="static")
    people.phone(db, cast.course, NOW)
    with pytest.raises(Invalid) as refused:
        release(db, cast, DYNAMIC)
    said = refused.value.fields["phase"]
    assert "Text not signed: trouble.numb.sling. Sign it first: a phone is paired." in said
    release(db, cast, Signed("dressing", True, True))
    people.signed(db, db.get_one(Staff, cast.therapist.id), LATER)
    release(db, cast, DYNAMIC, LATER + timedelta(minutes=1))
    assert phase_in_force(db, cast.course, LATER + timedelta(minutes=1)).key == "dynamic"
