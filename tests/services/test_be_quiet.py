"""Reminders people can live with: weekly quiet times, fewer, no sound, one question."""

from __future__ import annotations

import json
import uuid
from datetime import datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.delivery.recorder import Recorder
from homeprog.phrases import phrases_of
from homeprog.services.dispatch_prompts import dispatch_due
from homeprog.services.phone_plan import phone_plan, plan_version
from homeprog.services.plan_prompts import plan_prompts
from homeprog.storage.models import Course, Device, PromptEvent, Quiet, Staff
from tests import cast
from tests.services.prompt_cast import at, events_at, hourly, logged, phone, quiet, therapist
from tests.upload_cast import codes, item, results, send

SAY = phrases_of("en")


@pytest.fixture
def course(db: Session) -> Course:
    """Hourly slots from 6:00 to 21:00 UTC; reminders are planned from Friday's waking on."""
    return hourly(db, therapist(db))


@pytest.fixture
def device(db: Session, course: Course) -> Device:
    made = phone(db, course)
    plan_prompts(db, course.patient_id, at(5, 50))
    db.commit()
    return made


def dispatch(db: Session, now: datetime) -> list[dict]:
    """What leaves at `now`, read as the phone reads it."""
    recorder = Recorder()
    dispatch_due(db, recorder, lambda: now, share=lambda: 0.0)
    return [json.loads(push.payload)["notification"] for push in recorder.sent]


def wish(course: Course, now: datetime, kind: str, **own: object) -> dict:
    return item("quiet", course, now, kind=kind, **own)


def whole_day(db: Session) -> dict[int, str]:
    """Hour -> what became of its reminder, dispatched as each falls due."""
    for hour in range(6, 21):
        dispatch(db, at(hour, 1))
    return {hour: events_at(db, at(hour))[-1][0] for hour in range(6, 21)}


def muted_hours(db: Session, device: Device, now: datetime, day: str = "2026-06-05") -> list[int]:
    slots = phone_plan(db, device, now)["courses"][0]["slots"]
    mine = (slot for slot in slots if slot["muted"] and slot["day"] == day)
    return [int(slot["start"][11:13]) for slot in mine]


# --- fewer


def test_every_second_reminder_is_sent_and_the_slots_between_stay_due_marked_muted(
    db, course, device
):
    send(db, device, [wish(course, at(5, 55), "fewer", fewer="every_second")], at(5, 55))
    became = whole_day(db)
    assert [hour for hour, what in became.items() if what == "sent"] == list(range(6, 21, 2))
    assert set(became.values()) == {"sent", "muted"}
    assert muted_hours(db, device, at(20, 55)) == list(range(7, 21, 2))
    slots = phone_plan(db, device, at(5, 55))["courses"][0]["slots"]
    tomorrow = [slot for slot in slots if slot["day"] == "2026-06-06"]
    assert {(s["standing"], s["amount"]) for s in tomorrow} == {("ahead", 10)}
    assert len(tomorrow) == 15


def test_four_a_day_are_the_first_the_last_and_two_between(db, course, device):
    send(db, device, [wish(course, at(5, 55), "fewer", fewer="four_a_day")], at(5, 55))
    became = whole_day(db)
    assert [hour for hour, what in became.items() if what == "sent"] == [6, 11, 15, 20]
    assert muted_hours(db, device, at(5, 56), "2026-06-08") == [
        hour for hour in range(6, 21) if hour not in (6, 11, 15, 20)
    ]


def test_fewer_said_anew_takes_the_place_of_the_one_before(db, course, device):
    first = wish(course, at(5, 55), "fewer", fewer="four_a_day")
    send(db, device, [first], at(5, 55))
    send(db, device, [wish(course, at(9, 30), "fewer", fewer="every_second")], at(9, 30))
    told = phone_plan(db, device, at(9, 31))["quiet"]
    assert [each["fewer"] for each in told] == ["every_second"]
    assert muted_hours(db, device, at(9, 31)) == [7, 8, 9, 11, 13, 15, 17, 19]


# --- weekly


def test_a_weekly_time_mutes_in_it_and_is_ended_by_its_id(db, course, device):
    raw = wish(course, at(5, 55), "weekly", weekday=4, opens="13:00", closes="15:00")
    assert results(send(db, device, [raw], at(5, 55))) == ["stored"]
    assert phone_plan(db, device, at(6))["quiet"] == [
        {
            "id": raw["id"], "kind": "weekly", "until": None, "weekday": 4, "opens": "13:00",
            "closes": "15:00", "fewer": None,
        }
    ]  # fmt: skip
    assert muted_hours(db, device, at(6)) == [12, 13]  # 13:00 in London is 12:00 UTC
    assert muted_hours(db, device, at(6), "2026-06-12") == [12, 13]
    dispatch(db, at(12, 1))
    assert events_at(db, at(12)) == [("muted", None)]
    before = plan_version(db, course.patient_id, at(12, 30))
    over = wish(course, at(12, 30), "end", ends=raw["id"])
    assert results(send(db, device, [over], at(12, 30))) == ["stored"]
    assert plan_version(db, course.patient_id, at(12, 30)) != before
    assert phone_plan(db, device, at(12, 31))["quiet"] == []
    assert muted_hours(db, device, at(12, 31)) == [12]  # what was muted then stays so
    assert len(dispatch(db, at(13, 1))) == 1


def test_quiet_for_a_while_may_be_ended_early(db, course, device):
    raw = wish(course, at(8, 30), "until", until="2026-06-05T12:00:00Z")
    send(db, device, [raw], at(8, 30))
    assert muted_hours(db, device, at(8, 31)) == [9, 10, 11]
    send(db, device, [wish(course, at(9, 30), "end", ends=raw["id"])], at(9, 30))
    assert muted_hours(db, device, at(9, 31)) == [9]


def test_a_wish_is_ended_by_no_one_but_its_patient(db, course, device):
    raw = wish(course, at(8), "fewer", fewer="four_a_day")
    send(db, device, [raw], at(8))
    other = hourly(db, db.scalars(select(Staff)).one(), name="Ola Berg", number="SH 1")
    theirs = cast.phone(db, other, at(8))
    db.commit()
    sent = [wish(other, at(9), "end", ends=raw["id"])]
    assert codes(send(db, theirs, sent, at(9))) == ["not_found"]
    unknown = [wish(course, at(9), "end", ends=str(uuid.uuid4()))]
    assert codes(send(db, device, unknown, at(9))) == ["not_found"]
    assert db.scalars(select(Quiet.ends)).all() == [None]


@pytest.mark.parametrize(
    "own",
    [
        {"kind": "weekly", "weekday": 7, "opens": "13:00", "closes": "15:00"},
        {"kind": "weekly", "weekday": 1, "opens": "13:00"},
        {"kind": "weekly", "weekday": 1, "opens": "13:00", "closes": "13:00"},
        {"kind": "weekly", "weekday": 1, "opens": "25:00", "closes": "13:00"},
        {"kind": "fewer"},
        {"kind": "fewer", "fewer": "none"},
        {"kind": "until"},
        {"kind": "end"},
    ],
)
def test_a_wish_that_cannot_be_meant_is_refused(db, course, device, own):
    assert codes(send(db, device, [item("quiet", course, at(9), **own)], at(9))) == ["invalid"]


# --- no sound


def test_the_first_half_hour_after_waking_and_the_last_before_sleep_make_no_sound(
    db, course, device
):
    assert [push["silent"] for push in dispatch(db, at(6, 1))] == [True]
    logged(db, course, at(6, 10))
    db.commit()
    assert [push["silent"] for push in dispatch(db, at(7, 1))] == [False]
    logged(db, course, at(19, 40))
    db.commit()
    assert [push["silent"] for push in dispatch(db, at(20, 31))] == [True]


def test_after_three_unanswered_in_a_row_it_is_silent_and_asks_once(db, course, device):
    said = {hour: dispatch(db, at(hour, 1))[0] for hour in range(9, 15)}
    assert {hour: push["silent"] for hour, push in said.items()} == {
        9: False, 10: False, 11: False, 12: True, 13: True, 14: True,
    }  # fmt: skip
    assert {hour: push["body"] for hour, push in said.items() if hour > 10} == {
        11: SAY("push.reminder"), 12: SAY("push.question"), 13: SAY("push.reminder"),
        14: SAY("push.reminder"),
    }  # fmt: skip
    assert said[12]["navigate"] == "/phone/#reminders"
    assert said[13]["navigate"] == "/phone/"


def test_a_log_or_a_tap_is_an_answer_and_the_row_begins_anew(db, course, device):
    for hour in (9, 10, 11):
        dispatch(db, at(hour, 1))
    logged(db, course, at(11, 30))
    db.commit()
    assert not dispatch(db, at(12, 1))[0]["silent"]
    for hour in (13, 14):
        dispatch(db, at(hour, 1))
    sent = db.scalars(
        select(PromptEvent).where(PromptEvent.what == "sent").order_by(PromptEvent.at.desc())
    ).first()
    db.add(
        PromptEvent(clinic_id=course.clinic_id, at=at(14, 2), send_id=sent.send_id, what="tapped")
    )
    db.commit()
    assert not dispatch(db, at(15, 1))[0]["silent"]


def test_muted_reminders_are_no_unanswered_ones(db, course, device):
    quiet(db, course, at(8, 30), ends=at(11, 30))
    db.commit()
    for hour in (9, 10, 11):
        assert dispatch(db, at(hour, 1)) == []
    assert not dispatch(db, at(12, 1))[0]["silent"]
