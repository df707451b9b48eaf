"""The phone's plan: all it shows, and no more than it may."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy.orm import Session

from homeprog.services.hold_course import hold_course, resume
from homeprog.services.phone_plan import phone_plan, plan_version, revision_said
from homeprog.services.plan_visit import plan_visit
from homeprog.services.put_in_words import isolated
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage.models import (
    ClinicSetting,
    CourseEvent,
    DailyCheck,
    Device,
    Number,
    Quiet,
    SignedText,
)
from tests import cast as people
from tests.regime_cast import CONTROLLED, OnRegime, a_clinician, approved, fact, on_regime

NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)  # a Friday
LATER = NOW + timedelta(hours=2)


def plan_of(db: Session, cast: OnRegime, now: datetime = LATER) -> dict:
    device = Device(at=NOW, clinic_id=cast.clinic.id, patient_id=cast.patient.id)
    db.add(device)
    db.flush()
    return phone_plan(db, device, now)


def course_of(db: Session, cast: OnRegime, now: datetime = LATER) -> dict:
    return plan_of(db, cast, now)["courses"][0]


def keys(course: dict) -> list[str]:
    return [question["key"] for question in course["checks"][0]["questions"]]


def sign(db: Session, cast: OnRegime, key: str, words: str) -> None:
    db.add(
        SignedText(
            at=NOW, clinic_id=cast.clinic.id, key=key, worn=None, language="en", title=key,
            lines=[words], by_id=cast.therapist.id,
        )
    )  # fmt: skip
    db.flush()


@pytest.fixture
def cast(db: Session) -> OnRegime:
    return on_regime(db, NOW)


def test_slots_run_from_48_hours_back_to_14_days_ahead_of_the_released_phase_alone(db, cast):
    now = NOW + timedelta(days=4)
    slots = course_of(db, cast, now)["slots"]
    assert {slot["exercise"] for slot in slots} == {"bend_to_stop", "shoulder"}
    assert min(slot["end"] for slot in slots) > "2026-06-07T13:10:20Z"
    assert max(slot["start"] for slot in slots) == "2026-06-23T13:00:00Z"
    first = next(s for s in slots if s["start"] == "2026-06-10T06:00:00Z")
    assert (first["day"], first["number"], first["amount"], first["standing"]) == (
        "2026-06-10", 15, 10, "ahead",
    )  # fmt: skip


def test_before_confirmation_there_are_texts_and_numbers_only(db):
    staff_clinic = people.clinic(db, NOW)
    anna = people.staff(db, staff_clinic, NOW)
    people.signed(db, anna, NOW)
    course = people.enrolled(db, anna, NOW)
    by, other = people.acting(anna), a_clinician(db, staff_clinic, NOW, "surgeon")
    row = approved(db, by, other, "static-then-dynamic", NOW)
    set_regime(db, by, course.id, Wanted(row.id, row.body, "as the template"), NOW)
    plan = phone_plan(db, people.phone(db, course, NOW), LATER)
    assert plan["texts"]["before.keep_dry"]["lines"]
    assert plan["ring"][0]["tel"] == "020 7946 0101"
    assert plan["emergency"] == {"label": "Ambulance", "tel": "999"}
    told = plan["courses"][0]
    assert told["state"] == "unconfirmed"
    for nothing in ("hand", "finger", "phase", "hand_question", "day", "next_visit"):
        assert told[nothing] is None, nothing
    assert (told["slots"], told["exercises"], told["checks"]) == ([], [], [])
    assert "middle" not in json.dumps(told)


def test_a_phone_is_told_until_when_it_is_read_and_whom_to_ring_then(db):
    anna = people.staff(db, people.clinic(db, NOW), NOW)
    people.on_duty(db, anna, NOW)
    day = db.query(Number).filter_by(kind="clinic", weekday=NOW.weekday()).one()
    night = {"set_id": day.set_id, "kind": "clinic", "weekday": day.weekday, "closes": time(0)}
    ward = {"label": "Ring the ward", "tel": "020 7946 0199", "opens": time(17)}
    db.add(Number(clinic_id=day.clinic_id, at=NOW, **night, **ward))
    day.closes = time(17)
    device = people.phone(db, people.enrolled(db, anna, NOW), NOW)
    first, then = phone_plan(db, device, LATER)["ring"][:2]
    assert first["read_words"] == (
        "The clinic reads this until 17:00. After 17:00 nobody reads this. Then ring "
        f"{isolated('020 7946 0199')}."
    )
    assert then["read_words"] == "Nobody here reads this before Monday 8:00."


def test_the_hand_is_asked_about_and_named_once_confirmed(db, cast):
    course = course_of(db, cast)
    assert (course["hand"], course["finger"], course["working_side"]) == (
        "Left hand", "middle finger", "right",
    )  # fmt: skip
    asked = db.query(CourseEvent).filter_by(course_id=cast.course.id, kind="confirmed").one()
    assert course["hand_question"]["id"] == str(asked.id)
    assert course["hand_question"]["splint"].startswith("A splint with slings")


def test_after_a_corrected_side_the_hand_is_not_named_and_all_is_stopped(db, cast):
    sign(db, cast, "screen.checking_plan", "Stop. We are checking your plan.")
    hold_course(db, cast.therapist, cast.course.id, "until_release", "side corrected", LATER)
    fact(db, cast.course, "side", "right", LATER)
    event = CourseEvent(
        at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="facts_corrected",
        figures={},
    )  # fmt: skip
    db.add(event)
    db.flush()
    course = course_of(db, cast)
    assert (course["hand"], course["finger"], course["hand_question"]) == (None, None, None)
    assert course["stop"]["lines"] == ["Stop. We are checking your plan."]
    ahead = {s["standing"] for s in course["slots"] if s["start"] > "2026-06-05T15:11:00Z"}
    assert ahead == {"excused"}


def test_a_stop_flag_stops_until_a_clinician_resumes(db, cast):
    sign(db, cast, "screen.stop", "Stop the exercises.")
    hold = hold_course(db, cast.therapist, cast.course.id, "stop_flag", "fell", LATER)
    stop = course_of(db, cast)["stop"]
    assert stop == {
        "since": "2026-06-05T15:10:20Z", "kind": "stop_flag", "lines": ["Stop the exercises."],
    }  # fmt: skip
    resume(db, cast.therapist, hold.id, "intact", LATER)
    assert course_of(db, cast)["stop"] is None


def test_a_pause_asks_for_nothing_and_is_no_stop(db, cast):
    hold_course(db, cast.therapist, cast.course.id, "pause", "wedding", LATER)
    course = course_of(db, cast)
    assert course["stop"] is None
    standings = {s["start"]: s["standing"] for s in course["slots"]}
    assert standings["2026-06-06T06:00:00Z"] == "excused"


def test_cautions_wear_steps_and_the_leading_exercise_are_those_of_the_phase(db, cast):
    course = course_of(db, cast)
    phase = course["phase"]
    assert phase["cautions"][0].startswith("Let the band lift")
    assert course["exercises"][0]["leading"]
    assert course["exercises"][0]["steps"][0] == (
        "Keep the splint on. Bend your big knuckles slowly to the stop."
    )
    assert course["day"] == {"number": 10, "words": "day 10 (1 week 3 days)"}


def test_later_stages_are_told_by_name_alone_and_the_splint_s_rules_by_hours(db, cast):
    phase = course_of(db, cast)["phase"]
    assert phase["later"][0] == "Bend further against the band"
    assert all(isinstance(name, str) for name in phase["later"])
    assert phase["name"] not in phase["later"]
    assert phase["wearing"] == {
        "by_day": True, "by_night": True, "outdoors": True, "comes_off": [],
    }  # fmt: skip


def test_a_step_that_speaks_of_the_splint_itself_is_not_told_twice(db):
    cast = on_regime(db, NOW, template=CONTROLLED, release="controlled_active")
    lift = next(e for e in course_of(db, cast)["exercises"] if e["leading"])
    assert lift["steps"][0] == "Keep the splint on."


def test_the_check_asks_what_fits_a_band_and_no_is_the_worse_answer(db, cast):
    course = course_of(db, cast)
    assert keys(course) == [
        "splint_on", "splint_holds", "fingers_lift", "band_lifts", "no_new_swelling",
        "comfortable", "wound_dry",
    ]  # fmt: skip
    leads = {q["key"]: q["on_no"] for q in course["checks"][0]["questions"]}
    assert leads["splint_on"] == {"ask": "off", "trouble": "splint_gone"}
    assert leads["fingers_lift"] == {"trouble": "finger_no_longer_lifts"}
    assert leads["band_lifts"] == {"trouble": "band_no_longer_lifts"}
    assert leads["splint_holds"] == {"trouble": "splint_does_not_hold"}
    assert leads["no_new_swelling"] == {"text": "trouble.swelling.sling"}
    assert course["checks"][0]["questions"][-1]["answers"] == ["yes", "no", "cannot_see"]


def test_under_a_dressing_neither_wound_nor_lifting_is_asked_about(db):
    cast = on_regime(db, NOW, release=None)
    assert keys(course_of(db, cast)) == [
        "splint_on", "splint_holds", "no_new_swelling", "comfortable",
    ]  # fmt: skip


def test_a_check_may_be_answered_from_waking_to_waking_and_once(db, cast):
    db.add(
        DailyCheck(
            at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, day=date(2026, 6, 5),
            answers={}, details={}, entered_at=LATER, digest="-",
        )
    )  # fmt: skip
    db.flush()
    today, tomorrow = course_of(db, cast)["checks"][:2]
    assert (today["day"], today["answered"]) == ("2026-06-05", True)
    assert (tomorrow["from"], tomorrow["until"], tomorrow["answered"]) == (
        "2026-06-06T06:00:00Z", "2026-06-07T06:00:00Z", False,
    )  # fmt: skip


def test_trouble_is_offered_by_what_is_worn_with_emergencies_first(db, cast):
    troubles = plan_of(db, cast)["troubles"]
    kinds = [each["kind"] for each in troubles]
    assert kinds[:2] == ["white_blue_cold", "severe_pain"]
    assert "band_no_longer_lifts" in kinds
    assert "tingling" not in kinds  # no nerve was mended
    texts = {each["kind"]: each["text"] for each in troubles}
    assert texts["white_blue_cold"] == "trouble.white_blue_cold.sling"
    bare = on_regime(db, NOW, release=None)
    kinds = [each["kind"] for each in plan_of(db, bare)["troubles"]]
    assert "band_no_longer_lifts" not in kinds


def test_the_next_visit_is_told_by_its_date_and_not_by_a_later_stage(db, cast):
    plan_visit(
        db, cast.therapist, cast.course.id, date(2026, 6, 19), LATER, "dynamic_wide", "10:30"
    )
    course = course_of(db, cast)
    assert course["next_visit"] == {"date": "2026-06-19", "words": "Friday 19 June, 10:30"}
    plan_visit(db, cast.therapist, cast.course.id, date(2026, 6, 22), LATER + timedelta(minutes=1))
    after = course_of(db, cast, LATER + timedelta(minutes=2))
    assert after["next_visit"]["date"] == "2026-06-22"


def test_slots_in_a_quiet_time_are_muted(db, cast):
    db.add(
        Quiet(
            at=LATER, clinic_id=cast.clinic.id, patient_id=cast.patient.id, kind="until",
            starts=LATER, ends=LATER + timedelta(hours=2),
        )
    )  # fmt: skip
    db.flush()
    muted = {s["start"] for s in course_of(db, cast)["slots"] if s["muted"]}
    assert sorted(muted) == ["2026-06-05T16:00:00Z", "2026-06-05T17:00:00Z"]


def test_when_the_last_course_is_closed_the_phone_knows_whom_to_ring(db, cast):
    db.add(
        Number(
            at=NOW, clinic_id=cast.clinic.id, set_id=cast.course.id, label="Ring the hand unit",
            tel="020 7946 0101", weekday=4, opens=NOW.time().replace(hour=0, minute=0, second=0),
            closes=NOW.time().replace(hour=0, minute=0, second=0),
        )
    )  # fmt: skip
    event = CourseEvent(
        at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="closed",
        figures={"reason": "completed"},
    )  # fmt: skip
    db.add(event)
    db.flush()
    plan = plan_of(db, cast)
    assert plan["courses"] == []
    assert plan["closed"]["words"] == "Your plan is finished."
    assert plan["closed"]["ring"][0]["tel"] == "020 7946 0101"


def test_the_version_moves_with_every_change_and_not_with_the_clock(db, cast):
    first = plan_version(db, cast.patient.id, LATER)
    assert plan_version(db, cast.patient.id, LATER + timedelta(days=3)) == first
    hold = hold_course(db, cast.therapist, cast.course.id, "pause", "away", LATER)
    held = plan_version(db, cast.patient.id, LATER)
    resume(db, cast.therapist, hold.id, "back", LATER)
    resumed = plan_version(db, cast.patient.id, LATER)
    signed = Signed("static", True, True)
    release_phase(db, cast.therapist, cast.course.id, signed, LATER)
    back = plan_version(db, cast.patient.id, LATER)
    assert len({first, held, resumed, back}) == 4
    assert plan_version(db, cast.patient.id, LATER - timedelta(seconds=1)) == first


def test_a_version_says_which_revision_it_stood_for(db, cast):
    first = plan_version(db, cast.patient.id, LATER)
    less = json.loads(json.dumps(cast.revision.body))
    less["phases"][2]["exercises"][0]["dose"]["amount"] = 6
    set_regime(db, cast.therapist, cast.course.id, Wanted(cast.template.id, less, "sore"), LATER)
    second = plan_version(db, cast.patient.id, LATER)
    assert revision_said(first, cast.course.id) == 1
    assert revision_said(second, cast.course.id) == 2
    assert revision_said(first, cast.patient.id) is None
    assert revision_said(None, cast.course.id) is None


def test_an_answered_question_is_not_asked_again(db, cast):
    asked = course_of(db, cast)["hand_question"]["id"]
    db.add(
        CourseEvent(
            at=LATER, clinic_id=cast.clinic.id, course_id=cast.course.id, kind="read_back",
            figures={"question": asked},
        )
    )  # fmt: skip
    db.flush()
    assert course_of(db, cast)["hand_question"] is None


def clinic_sets(db: Session, cast: OnRegime, key: str, value: object) -> None:
    db.add(
        ClinicSetting(
            at=NOW, clinic_id=cast.clinic.id, key=key, value={"is": value}, valid_from=NOW
        )
    )
    db.flush()


def test_the_clinics_own_figures_reach_the_phone_as_numbers(db, cast):
    assert plan_of(db, cast)["rules"] == {
        "done_share": 0.8, "timely_minutes": 45, "fill_in_hours": 48, "enough_times_dose": 1.5,
        "take_back_minutes": 2, "no_contact_hours": 72, "pain_red_flag_at": 7, "pain_rise": 3,
        "pain_rise_floor": 5, "pain_each_bout": True, "quiet_longest_hours": 4,
        "silence_waking_hours": 6,
    }  # fmt: skip
    before = plan_version(db, cast.patient.id, LATER)
    clinic_sets(db, cast, "no_contact_hours", 48)
    assert plan_of(db, cast)["rules"]["no_contact_hours"] == 48
    assert plan_version(db, cast.patient.id, LATER) != before


def test_pain_is_asked_at_every_bout_or_at_three_slots_a_day_of_the_leading_exercise(db, cast):
    assert all(slot["asks_pain"] for slot in course_of(db, cast)["slots"])
    clinic_sets(db, cast, "pain.each_bout", False)
    slots = course_of(db, cast)["slots"]
    asks = {(s["exercise"], s["start"]) for s in slots if s["asks_pain"] and s["number"] == 11}
    assert asks == {
        ("bend_to_stop", "2026-06-06T06:00:00Z"), ("bend_to_stop", "2026-06-06T13:00:00Z"),
        ("bend_to_stop", "2026-06-06T20:00:00Z"),
    }  # fmt: skip


@pytest.mark.parametrize("kind", ["pause", "hospital", "until_release", "stop_flag"])
def test_an_exercise_that_is_held_is_told_as_held_and_has_no_picture(db, cast, kind):
    lead = course_of(db, cast)["exercises"][0]
    assert (lead["leading"], lead["held"]) == (True, False)
    hold = hold_course(db, cast.therapist, cast.course.id, kind, "lag", NOW, exercise=lead["key"])
    course = course_of(db, cast)
    others = [each["held"] for each in course["exercises"][1:]]
    assert course["exercises"][0]["held"]
    assert others
    assert not any(others)
    assert lead["key"] not in {figure["exercise"] for figure in course["figures"]}
    resume(db, cast.therapist, hold.id, "no lag", LATER)
    assert not course_of(db, cast, LATER + timedelta(minutes=1))["exercises"][0]["held"]


def test_while_a_course_is_paused_every_exercise_is_told_as_held(db, cast):
    hold_course(db, cast.therapist, cast.course.id, "pause", "wound", NOW)
    assert all(each["held"] for each in course_of(db, cast)["exercises"])
