"""Planning reminders: 48 h ahead, once, and following every change."""

import uuid
from datetime import timedelta
from threading import Thread

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from homeprog.services.plan_prompts import plan_prompts
from homeprog.storage.models import Prompt, PromptSend, PromptSlot
from tests.services.prompt_cast import (
    at,
    closed,
    dues,
    exercises_at,
    held,
    hourly,
    phone,
    prompt_of,
    revise,
    sends_at,
    therapist,
)


def counts(db: Session) -> list[int]:
    tables = (Prompt, PromptSlot, PromptSend)
    return [db.scalar(select(func.count()).select_from(table)) or 0 for table in tables]


def test_every_slot_that_starts_in_the_coming_48_hours_has_a_prompt(db: Session) -> None:
    course = hourly(db, therapist(db))
    plan_prompts(db, course.patient_id, at(13, 10))
    planned = dues(db)
    # London in June: awake 6:00 to 21:00 UTC; Friday from 14:00, Saturday whole, Sunday to 13:00.
    assert planned == (
        [at(hour) for hour in range(14, 21)]
        + [at(hour, day=6) for hour in range(6, 21)]
        + [at(hour, day=7) for hour in range(6, 14)]
    )
    assert prompt_of(db, at(14)).ends_at == at(15)


def test_planning_again_adds_nothing(db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    before = counts(db)
    plan_prompts(db, course.patient_id, at(13, 10))
    assert counts(db) == before == [30, 30, 30]


def test_a_slot_that_starts_at_this_very_instant_is_planned(db: Session) -> None:
    course = hourly(db, therapist(db))
    plan_prompts(db, course.patient_id, at(14))
    assert dues(db)[0] == at(14)


def test_slots_of_two_exercises_and_two_hands_share_one_prompt(db: Session) -> None:
    by = therapist(db)
    left = hourly(db, by, "bend", "lift")
    right = hourly(db, by, "curl", number="SH 2")
    right.patient_id = left.patient_id
    plan_prompts(db, left.patient_id, at(13, 10))
    assert exercises_at(db, at(14)) == ["bend", "curl", "lift"]


def test_each_paired_phone_with_a_live_subscription_gets_its_own_send(db: Session) -> None:
    course = hourly(db, therapist(db))
    own, carers = phone(db, course), phone(db, course, whose="carer")
    invented = phone(db, course, endpoint="", invented=True, push_state="granted")
    phone(db, course, endpoint="")  # no push
    phone(db, course, ended_at=at(7), ended_how="unpaired")
    plan_prompts(db, course.patient_id, at(13, 10))
    reached = {send.device_id for send in sends_at(db, at(14))}
    assert reached == {own.id, carers.id, invented.id}


def test_a_phone_that_subscribes_later_gets_the_sends_already_planned(db: Session) -> None:
    course = hourly(db, therapist(db))
    plan_prompts(db, course.patient_id, at(13, 10))
    device = phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 20))
    assert [send.device_id for send in sends_at(db, at(20))] == [device.id]


def test_prompts_whose_slots_are_no_longer_planned_are_withdrawn(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by)
    plan_prompts(db, course.patient_id, at(13, 10))
    revise(db, course, by, at(13, 20), "bend", schedule={"kind": "times_a_day", "times": 3})
    plan_prompts(db, course.patient_id, at(13, 20))
    # 15 waking hours in 3 windows: 6:00, 11:00, 16:00 UTC; Friday has had its three already.
    assert dues(db)[:3] == [at(6, day=6), at(11, day=6), at(16, day=6)]
    assert prompt_of(db, at(7, day=6)).withdrawn_at == at(13, 20)
    assert prompt_of(db, at(16, day=6)).ends_at == at(21, day=6)


def test_a_prompt_that_is_planned_again_stands_again(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by)
    plan_prompts(db, course.patient_id, at(13, 10))
    revise(db, course, by, at(13, 20), "bend", schedule={"kind": "times_a_day", "times": 3})
    plan_prompts(db, course.patient_id, at(13, 20))
    revise(db, course, by, at(13, 30), "bend")
    plan_prompts(db, course.patient_id, at(13, 30))
    assert at(17) in dues(db)
    assert prompt_of(db, at(17)).ends_at == at(18)


def test_a_closed_course_has_no_prompts_left(db: Session) -> None:
    course = hourly(db, therapist(db))
    plan_prompts(db, course.patient_id, at(13, 10))
    closed(db, course, at(13, 30))
    plan_prompts(db, course.patient_id, at(13, 30))
    assert dues(db) == []


def test_what_fell_due_before_now_is_never_touched(db: Session) -> None:
    course = hourly(db, therapist(db))
    plan_prompts(db, course.patient_id, at(13, 10))
    closed(db, course, at(15, 30))
    plan_prompts(db, course.patient_id, at(15, 30))
    assert dues(db) == [at(14), at(15)]


def test_a_slot_moves_to_an_earlier_prompt_that_it_now_joins(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by, "bend")
    plan_prompts(db, course.patient_id, at(13, 10))
    other = hourly(db, by, now=at(13, 40), number="SH 2")
    other.patient_id = course.patient_id
    # Around 13:00 and 16:46 London time: the windows meet halfway, at 13:53 UTC.
    around = {"kind": "at", "at": ["13:00", "16:46"]}
    revise(db, other, by, at(13, 40), "curl", schedule=around)
    plan_prompts(db, course.patient_id, at(13, 41))
    assert exercises_at(db, at(13, 53)) == ["bend", "curl"]
    assert prompt_of(db, at(14)).withdrawn_at == at(13, 41)


def test_who_shares_a_prompt_does_not_depend_on_the_minute_of_planning(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by)
    revise(db, course, by, at(13, 1), "often", schedule={"kind": "every", "every": 10})
    for key, number, meets in (("lift", "SH 2", "17:16"), ("curl", "SH 3", "17:24")):
        other = hourly(db, by, number=number)
        other.patient_id = course.patient_id
        # Two times of day whose windows meet at 14:08 and at 14:12 UTC.
        revise(db, other, by, at(13, 1), key, schedule={"kind": "at", "at": ["13:00", meets]})
    for now in (at(13, 30), at(14, 11)):  # 14:08 belongs to 14:00, which has ended by 14:11
        plan_prompts(db, course.patient_id, now)
        assert at(14, 8) not in dues(db)
        assert exercises_at(db, at(14)) == ["lift", "often"]
        assert exercises_at(db, at(14, 10)) == ["curl", "often"]


def test_slots_of_a_held_course_stay_planned_and_are_judged_when_due(db: Session) -> None:
    course = hourly(db, therapist(db))
    held(db, course, at(13, 5))
    plan_prompts(db, course.patient_id, at(13, 10))
    assert at(14) in dues(db)


def test_an_unconfirmed_patient_has_no_prompts(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by)
    plan_prompts(db, course.patient_id, at(5, 59, day=1))
    assert dues(db) == []


def test_two_connections_that_plan_at_once_leave_one_plan(engine: Engine, db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course)
    db.commit()
    patient = course.patient_id
    db.commit()
    with Session(engine) as one:
        plan_prompts(one, patient, at(13, 10))
        other = Thread(target=planned_beside, args=(engine, patient))
        other.start()
        other.join(0.3)  # it waits for the first, or would trip over its rows
        one.commit()
    other.join()
    assert counts(db) == [30, 30, 30]


def planned_beside(engine: Engine, patient: uuid.UUID) -> None:
    with Session(engine) as two:
        plan_prompts(two, patient, at(13, 10) + timedelta(seconds=1))
        two.commit()
