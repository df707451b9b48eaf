"""A rehearsal has slots and reminders of its own; it is never adherence and never an alert."""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.errors import Invalid
from homeprog.jobs import run_minute
from homeprog.services.hold_course import hold_course
from homeprog.services.phone_plan import phone_plan
from homeprog.services.plan_prompts import plan_prompts
from homeprog.services.refresh_line import refresh_line
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.models import Alert, Device, PromptSlot
from homeprog.storage.summaries import summaries
from tests import cast as people
from tests.regime_cast import OnRegime, on_regime
from tests.upload_cast import bout, item, results, send

NOW = datetime(2026, 6, 5, 5, 30, 20, tzinfo=UTC)  # a Friday, before waking
PRACTICE = {
    "key": "practice",
    "name": "Move your thumb",
    "steps": ["Keep the splint on.", "Move your thumb to and fro."],
    "schedule": {"kind": "at", "at": ["09:00", "13:00", "17:00"]},
}


def regime(cast: OnRegime, **own: object) -> Wanted:
    told = copy.deepcopy(cast.template.body)
    told["phases"][1]["rehearsal"] = PRACTICE | own
    return Wanted(None, told, "left free by the surgeon")


@pytest.fixture
def cast(db: Session) -> OnRegime:
    """In the static stage, which carries a rehearsal."""
    made = on_regime(db, NOW - timedelta(days=1), release=None, operated_days_ago=3)
    set_regime(db, made.therapist, made.course.id, regime(made), NOW)
    signed = Signed("static", splint_fitted=True, hand_examined=True)
    release_phase(db, made.therapist, made.course.id, signed, NOW)
    return made


@pytest.fixture
def phone(db: Session, cast: OnRegime) -> Device:
    return people.phone(db, cast.course, NOW)


def test_it_has_slots_of_one_go_on_the_phone_and_is_told_apart(db, cast, phone):
    course = phone_plan(db, phone, NOW + timedelta(hours=1))["courses"][0]
    mine = [s for s in course["slots"] if s["exercise"] == "practice" and s["day"] == "2026-06-05"]
    assert [s["start"] for s in mine] == [
        "2026-06-05T06:00:00Z", "2026-06-05T10:00:00Z", "2026-06-05T14:00:00Z",
    ]  # fmt: skip
    assert {(s["amount"], s["unit"]) for s in mine} == {(1, "times")}
    told = next(e for e in course["exercises"] if e["key"] == "practice")
    assert told["rehearsal"]
    assert not told["leading"]
    assert told["steps"] == PRACTICE["steps"]
    assert not any(e["rehearsal"] for e in course["exercises"] if e["key"] != "practice")


def test_in_a_pause_it_is_offered_no_more_than_an_exercise(db, cast, phone):
    hold_course(db, cast.therapist, cast.course.id, "pause", "wound", NOW)
    course = phone_plan(db, phone, NOW + timedelta(hours=1))["courses"][0]
    assert next(e for e in course["exercises"] if e["key"] == "practice")["held"]
    assert not [each for each in course["figures"] if each["exercise"] == "practice"]


def test_reminders_fall_due_at_its_hours(db, cast, phone):
    plan_prompts(db, cast.patient.id, NOW)
    planned = db.scalars(select(PromptSlot).where(PromptSlot.exercise == "practice")).all()
    starts = sorted(row.slot_start for row in planned)
    assert starts[:2] == [
        datetime(2026, 6, 5, 6, tzinfo=UTC), datetime(2026, 6, 5, 10, tzinfo=UTC),
    ]  # fmt: skip


def test_its_days_are_summed_apart_and_never_are_the_courses_figure(db, cast, phone):
    at = datetime(2026, 6, 5, 10, 20, tzinfo=UTC)
    sent = [bout(cast.course, at, exercise="practice", amount=1)]
    late = at + timedelta(hours=12)
    assert results(send(db, phone, sent, late)) == ["stored"]
    rows = summaries(db, cast.course.id, date(2026, 6, 5), date(2026, 6, 5), "practice")
    standings = [standing for _, _, standing, _, _ in rows[0].standings]
    assert standings == ["not_logged", "logged", "not_logged"]
    line = refresh_line(db, cast.course, late)
    assert line.figures["leading"] is None
    assert line.figures["dose_3"] is None


def test_days_of_rehearsals_left_out_alert_nobody(db, cast, phone):
    for day in range(5):
        later = NOW + timedelta(days=day, hours=18)
        send(db, phone, [item("zone_said", cast.course, later)], later)
        run_minute(db, later)
    rows = summaries(db, cast.course.id, date(2026, 6, 6), date(2026, 6, 8), "practice")
    assert {s for row in rows for _, _, s, _, _ in row.standings} == {"not_logged"}
    told = db.scalars(select(Alert)).all()
    assert [a.kind for a in told if a.kind in ("few_logged", "silence")] == []
    assert "practice" not in str([a.figures for a in told])


def test_an_hour_at_which_the_patient_sleeps_is_refused(db, cast):
    late = regime(cast, schedule={"kind": "at", "at": ["23:30"]})
    with pytest.raises(Invalid) as refused:
        set_regime(db, cast.therapist, cast.course.id, late, NOW + timedelta(hours=1))
    assert set(refused.value.fields) == {"phases.1.rehearsal.schedule"}
