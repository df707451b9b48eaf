"""Holds keep slots from being asked for; who may end which."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from homeprog.domain.errors import Conflict, Forbidden, Invalid
from homeprog.domain.hold import Hold
from homeprog.services.actor import Actor
from homeprog.services.hold_course import hold_course, resume
from homeprog.storage.models import ClinicSetting, Task
from homeprog.storage.timelines import holds_of
from tests.regime_cast import on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)
LATER = NOW + timedelta(hours=2)


def test_a_hold_begins_when_it_was_entered_even_before_it_was_received(db):
    cast = on_regime(db, NOW)
    phone = Actor(cast.clinic.id, "device")
    entered = LATER - timedelta(minutes=40)
    hold_course(db, phone, cast.course.id, "stop_flag", "snap", LATER, starts=entered)
    assert holds_of(db, cast.course, LATER) == (Hold("stop_flag", entered),)
    assert holds_of(db, cast.course, LATER - timedelta(minutes=1)) == ()


def test_a_pause_has_an_end_which_is_a_task_and_does_not_resume_by_itself(db):
    cast = on_regime(db, NOW)
    hold_course(db, cast.therapist, cast.course.id, "pause", "wedding", LATER)
    task = db.scalars(select(Task)).one()
    assert task.due_at == LATER + timedelta(days=3)
    (hold,) = holds_of(db, cast.course, LATER + timedelta(days=9))
    assert hold.end is None


def test_a_pause_lasts_14_days_at_most(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid) as refused:
        hold_course(
            db, cast.therapist, cast.course.id, "pause", "away", LATER,
            planned_end=LATER + timedelta(days=14, minutes=1),
        )  # fmt: skip
    assert set(refused.value.fields) == {"planned_end"}
    hold_course(
        db, cast.therapist, cast.course.id, "pause", "away", LATER,
        planned_end=LATER + timedelta(days=14),
    )  # fmt: skip


def test_how_long_a_pause_lasts_is_the_clinics_to_set(db):
    cast = on_regime(db, NOW)
    for key, days in (("pause_days", 2), ("pause_longest_days", 5)):
        db.add(
            ClinicSetting(
                at=NOW, clinic_id=cast.clinic.id, key=key, value={"is": days}, valid_from=NOW
            )
        )
    hold = hold_course(db, cast.therapist, cast.course.id, "pause", "wedding", LATER)
    assert hold.planned_end == LATER + timedelta(days=2)
    with pytest.raises(Invalid) as refused:
        hold_course(
            db, cast.therapist, cast.course.id, "pause", "away", LATER,
            planned_end=LATER + timedelta(days=6),
        )  # fmt: skip
    assert refused.value.fields == {"planned_end": ["After it begins, and within 5 days."]}


def test_a_hold_needs_a_reason_and_a_known_kind(db):
    cast = on_regime(db, NOW)
    with pytest.raises(Invalid) as refused:
        hold_course(db, cast.therapist, cast.course.id, "rest", " ", LATER)
    assert set(refused.value.fields) == {"kind", "reason"}


@pytest.mark.parametrize("kind", ["stop_flag", "until_release", "hospital"])
def test_only_a_clinician_resumes_and_says_why(db, kind):
    cast = on_regime(db, NOW)
    hold = hold_course(db, cast.therapist, cast.course.id, kind, "fell", LATER)
    clerk = replace(cast.therapist, profession=None, role="enroller")
    with pytest.raises(Forbidden):
        resume(db, clerk, hold.id, "intact", LATER)
    with pytest.raises(Invalid):
        resume(db, cast.therapist, hold.id, " ", LATER)
    resume(db, cast.therapist, hold.id, "intact", LATER + timedelta(hours=1))
    (ended,) = holds_of(db, cast.course, LATER + timedelta(hours=1))
    assert ended.end == LATER + timedelta(hours=1)


def test_a_phone_resumes_nothing(db):
    cast = on_regime(db, NOW)
    hold = hold_course(db, cast.therapist, cast.course.id, "pause", "away", LATER)
    with pytest.raises(Forbidden):
        resume(db, Actor(cast.clinic.id, "device"), hold.id, "back", LATER)


def test_ending_a_pause_does_its_task(db):
    cast = on_regime(db, NOW)
    hold = hold_course(db, cast.therapist, cast.course.id, "pause", "away", LATER)
    clerk = replace(cast.therapist, profession=None)
    resume(db, clerk, hold.id, "back early", LATER + timedelta(days=1))
    assert db.scalars(select(Task)).one().done_at == LATER + timedelta(days=1)


def test_a_hold_is_ended_once(db):
    cast = on_regime(db, NOW)
    hold = hold_course(db, cast.therapist, cast.course.id, "pause", "away", LATER)
    resume(db, cast.therapist, hold.id, "back", LATER)
    with pytest.raises(Conflict):
        resume(db, cast.therapist, hold.id, "back", LATER)
