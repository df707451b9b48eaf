"""Dispatch: claimed once, judged when due, retried within the slot."""

import json
from collections.abc import Callable
from datetime import datetime, time, timedelta
from threading import Barrier, Lock, Thread

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.push import Push
from homeprog.delivery.recorder import Recorder
from homeprog.services.dispatch_prompts import LEASE, dispatch_due, retry_at
from homeprog.services.plan_prompts import plan_prompts
from homeprog.storage import sends
from homeprog.storage.models import Course, Device, PromptSend, Subscription
from tests.services.prompt_cast import (
    at,
    closed,
    events_at,
    held,
    hourly,
    logged,
    phone,
    quiet,
    revise,
    sends_at,
    therapist,
)
from tests.upload_cast import bout, send, upload


def still(now: datetime) -> Callable[[], datetime]:
    return lambda: now


def one_prompt(db: Session, *exercises: str) -> tuple[Course, Device]:
    """A course with hourly slots and one phone, planned at 13:10 UTC: the next is due at 14:00."""
    course = hourly(db, therapist(db), *exercises)
    device = phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    db.commit()
    return course, device


def dispatch(db: Session, now: datetime, *fails: DeliveryError) -> Recorder:
    recorder = Recorder(*fails)
    dispatch_due(db, recorder, still(now), share=lambda: 0.0)
    return recorder


def test_a_due_reminder_is_sent_once_with_the_rest_of_its_slot_to_live(db: Session) -> None:
    course, _ = one_prompt(db)
    first, again = dispatch(db, at(14, 1)), dispatch(db, at(14, 2))
    assert len(first.sent) == 1
    assert len(again.sent) == 0
    push = first.sent[0]
    assert (push.patient, push.ttl) == (course.patient_id, 59 * 60)
    assert events_at(db, at(14)) == [("sent", None)]
    assert sends_at(db, at(14))[0].state == "sent"


def test_the_payload_is_the_phones_and_says_nothing_of_health(db: Session) -> None:
    one_prompt(db)
    push = dispatch(db, at(14, 1)).sent[0]
    told = json.loads(push.payload)
    assert told.pop("pad").strip("0") == ""
    assert told == {
        "web_push": 8030,
        "notification": {
            "title": "Homeprog",
            "body": "Time for your plan.",
            "navigate": "/phone/",
            "tag": "due",
            "silent": False,
            "data": {
                "send": str(sends_at(db, at(14))[0].id),
                "kind": "reminder",
                "expires_at": "2026-06-05T15:00:00Z",
            },
        },
        "mutable": True,
    }
    assert len(push.payload) == 512


def test_a_tap_leads_to_the_clinics_own_address(db: Session) -> None:
    one_prompt(db)
    recorder = Recorder()
    dispatch_due(db, recorder, still(at(14, 1)), origin="https://homeprog.example.org")
    told = json.loads(recorder.sent[0].payload)
    assert told["notification"]["navigate"] == "https://homeprog.example.org/phone/"


def test_nothing_is_sent_before_it_is_due(db: Session) -> None:
    one_prompt(db)
    assert not dispatch(db, at(13, 59)).sent


def test_a_slot_that_is_logged_is_not_asked_for(db: Session) -> None:
    course, _ = one_prompt(db)
    logged(db, course, at(14, 0))
    assert not dispatch(db, at(14, 1)).sent
    assert events_at(db, at(14)) == [("dropped", "logged")]


def test_a_go_of_another_exercise_or_slot_does_not_silence_it(db: Session) -> None:
    course, _ = one_prompt(db)
    logged(db, course, at(14, 0), exercise="lift")
    logged(db, course, at(13, 20))
    assert len(dispatch(db, at(14, 1)).sent) == 1


def test_what_was_logged_within_the_minute_at_the_edge_of_a_slot_has_earned_it(
    db: Session,
) -> None:
    """No job has summed it up yet: two minutes before the slot, a dose the one before is full."""
    course, device = one_prompt(db)
    own = {"exercise": "bend"}
    send(db, device, [bout(course, at(13, 30), **own)], at(13, 31))
    upload(db, device, [bout(course, at(13, 58), **own)], at(13, 59))
    dispatch(db, at(14, 0))
    assert events_at(db, at(14)) == [("dropped", "logged")]


def test_one_of_two_slots_logged_still_leaves_the_other_to_ask_for(db: Session) -> None:
    course, _ = one_prompt(db, "bend", "lift")
    logged(db, course, at(14, 0))
    assert len(dispatch(db, at(14, 1)).sent) == 1


def test_a_held_course_or_exercise_is_not_asked_for(db: Session) -> None:
    course, _ = one_prompt(db)
    held(db, course, at(13, 30), exercise="bend")
    assert not dispatch(db, at(14, 1)).sent
    assert events_at(db, at(14)) == [("dropped", "held")]


def test_a_hold_of_one_exercise_leaves_the_other_to_ask_for(db: Session) -> None:
    course, _ = one_prompt(db, "bend", "lift")
    held(db, course, at(13, 30), exercise="bend")
    assert len(dispatch(db, at(14, 1)).sent) == 1


def test_a_closed_course_is_not_asked_for_even_before_it_is_planned_anew(db: Session) -> None:
    course, _ = one_prompt(db)
    closed(db, course, at(13, 59))
    assert not dispatch(db, at(14, 1)).sent
    assert events_at(db, at(14)) == [("dropped", "closed")]


def test_a_revision_that_withdraws_the_exercise_stops_the_prompt_in_progress(db: Session) -> None:
    by = therapist(db)
    course = hourly(db, by)
    phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    revise(db, course, by, at(14, 1), "lift")
    db.commit()
    assert not dispatch(db, at(14, 2)).sent
    assert events_at(db, at(14)) == [("dropped", "not asked for")]


def test_muted_reminders_are_dropped_as_muted(db: Session) -> None:
    course, _ = one_prompt(db)
    quiet(db, course, at(13, 30), ends=at(14, 30))
    assert not dispatch(db, at(14, 1)).sent
    assert events_at(db, at(14)) == [("muted", None)]


def test_quiet_that_is_over_mutes_no_longer(db: Session) -> None:
    course, _ = one_prompt(db)
    quiet(db, course, at(13, 0), ends=at(14))
    assert len(dispatch(db, at(14, 0)).sent) == 1


@pytest.mark.parametrize(("weekday", "sent"), [(4, 0), (3, 1)])
def test_a_weekly_quiet_time_mutes_on_its_own_weekday(db: Session, weekday: int, sent: int) -> None:
    course, _ = one_prompt(db)  # Friday, and 15:01 on the patient's clock
    opens, closes = time(15), time(16)
    quiet(db, course, at(13), kind="weekly", weekday=weekday, opens=opens, closes=closes)
    assert len(dispatch(db, at(14, 1)).sent) == sent


def test_in_15_minutes_waits_and_then_sends(db: Session) -> None:
    course, _ = one_prompt(db)
    quiet(db, course, at(13, 55), kind="snooze", ends=at(14, 10))
    assert not dispatch(db, at(14, 1)).sent
    assert len(dispatch(db, at(14, 10)).sent) == 1
    assert [what for what, _ in events_at(db, at(14))] == ["snoozed", "sent"]


def test_in_15_minutes_said_to_a_reminder_that_came_brings_it_once_more(db: Session) -> None:
    course, _ = one_prompt(db)
    dispatch(db, at(14, 1))
    quiet(db, course, at(14, 5), kind="snooze", ends=at(14, 20))
    for minute in (5, 6):  # planned twice: the phone's word, and another one
        plan_prompts(db, course.patient_id, at(14, minute))
    assert not dispatch(db, at(14, 19)).sent
    assert len(dispatch(db, at(14, 20)).sent) == 1
    plan_prompts(db, course.patient_id, at(14, 21))
    assert not dispatch(db, at(14, 40)).sent


def test_in_15_minutes_never_reaches_beyond_the_slot(db: Session) -> None:
    course, _ = one_prompt(db)
    dispatch(db, at(14, 1))
    quiet(db, course, at(14, 50), kind="snooze", ends=at(15, 5))
    plan_prompts(db, course.patient_id, at(14, 50))
    sent = dispatch(db, at(15, 5)).sent  # the next slot's own
    assert [push.ttl for push in sent] == [55 * 60]


def test_a_late_reminder_is_worse_than_none(db: Session) -> None:
    one_prompt(db)
    sent = dispatch(db, at(15, 0)).sent  # the slot from 15:00 on is a reminder of its own
    assert [push.ttl for push in sent] == [3600]
    assert events_at(db, at(14)) == [("dropped", "expired")]


def test_an_unpaired_phone_and_a_dead_subscription_get_nothing(db: Session) -> None:
    course = hourly(db, therapist(db))
    unpaired, dead = phone(db, course), phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    unpaired.ended_at = at(13, 30)
    db.scalars(select(Subscription).where(Subscription.device_id == dead.id)).one().dead_at = at(13)
    db.commit()
    assert not dispatch(db, at(14, 1)).sent
    assert {detail for _, detail in events_at(db, at(14))} == {"unpaired", "no subscription"}


def test_an_invented_phone_needs_no_subscription(db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course, endpoint="", invented=True, push_state="granted")
    plan_prompts(db, course.patient_id, at(13, 10))
    db.commit()
    assert [push.address for push in dispatch(db, at(14, 1)).sent] == [None]


def test_a_push_that_was_not_taken_is_tried_again_within_the_slot(db: Session) -> None:
    one_prompt(db)
    dispatch(db, at(14, 1), DeliveryError("503", permanent=False))
    assert not dispatch(db, at(14, 1)).sent  # 30 s and no jitter: due 15 s later
    assert len(dispatch(db, at(14, 2)).sent) == 1
    assert events_at(db, at(14)) == [("failed", "503"), ("sent", None)]


def test_retry_after_is_waited_for(db: Session) -> None:
    one_prompt(db)
    busy = DeliveryError("429", permanent=False, retry_after=timedelta(minutes=10))
    dispatch(db, at(14, 1), busy)
    assert not dispatch(db, at(14, 10)).sent
    assert len(dispatch(db, at(14, 12)).sent) == 1


def test_no_retry_goes_past_the_slots_end(db: Session) -> None:
    one_prompt(db)
    busy = DeliveryError("429", permanent=False, retry_after=timedelta(hours=1))
    dispatch(db, at(14, 1), busy)
    assert sends_at(db, at(14))[0].state == "failed"
    assert events_at(db, at(14)) == [("failed", "429, no time left")]


@pytest.mark.parametrize(
    ("tries", "share", "seconds"), [(1, 0.0, 15), (1, 1.0, 30), (2, 0.0, 30), (9, 1.0, 600)]
)
def test_waits_double_with_jitter_up_to_ten_minutes(tries: int, share: float, seconds: int) -> None:
    # Common practice, no source: 30 s at first.
    assert retry_at(at(14), tries, None, at(15), share) == at(14) + timedelta(seconds=seconds)


def test_a_gone_endpoint_marks_the_subscription_dead(db: Session) -> None:
    _, device = one_prompt(db)
    dispatch(db, at(14, 1), DeliveryError("410", permanent=True, gone=True))
    dead = db.scalars(select(Subscription).where(Subscription.device_id == device.id)).one()
    assert dead.dead_at == at(14, 1)
    assert events_at(db, at(14)) == [("gone", "410")]
    assert not dispatch(db, at(15, 1)).sent


def test_a_refusal_for_good_is_not_tried_again(db: Session) -> None:
    one_prompt(db)
    dispatch(db, at(14, 1), DeliveryError("403", permanent=True))
    assert not dispatch(db, at(14, 30)).sent
    assert sends_at(db, at(14))[0].state == "failed"


def test_a_row_that_raises_is_pushed_forward_and_does_not_stop_the_loop(db: Session) -> None:
    course = hourly(db, therapist(db))
    phone(db, course)
    phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    db.commit()
    recorder = Recorder()
    recorder.fails = [ValueError("a fault of ours")]  # type: ignore[list-item]
    assert dispatch_due(db, recorder, still(at(14, 1))) == 2
    assert len(recorder.sent) == 1
    assert sorted(send.state for send in sends_at(db, at(14))) == ["due", "sent"]
    assert len(dispatch(db, at(14, 6)).sent) == 1


def test_a_row_that_raises_again_and_again_is_given_up(db: Session) -> None:
    one_prompt(db)
    for minute in range(1, 56, 6):
        faulty = Recorder()
        faulty.fails = [ValueError("a fault of ours")]  # type: ignore[list-item]
        dispatch_due(db, faulty, still(at(14, minute)))
    assert sends_at(db, at(14))[0].state == "failed"


def test_what_one_has_claimed_another_does_not_get(engine: Engine, db: Session) -> None:
    one_prompt(db)
    with Session(engine) as one, Session(engine) as two:
        mine = sends.claim_next(one, at(14, 1), LEASE)
        one.commit()
        assert mine is not None
        assert sends.claim_next(two, at(14, 2), LEASE) is None
        two.commit()
        assert sends.settle(one, mine, at(14, 2), "sent", "sent")


def test_a_claim_that_ran_out_passes_to_another_and_cannot_be_settled_by_the_first(
    engine: Engine, db: Session
) -> None:
    one_prompt(db)
    with Session(engine) as one, Session(engine) as two:
        mine = sends.claim_next(one, at(14, 1), LEASE)
        one.commit()
        theirs = sends.claim_next(two, at(14, 4), LEASE)
        two.commit()
        assert mine is not None
        assert theirs is not None
        assert theirs.send_id == mine.send_id
        assert not sends.settle(one, mine, at(14, 4), "sent", "sent")
        one.commit()
        assert sends.settle(two, theirs, at(14, 4), "sent", "sent")
        two.commit()


class Counting:
    """A sender shared by two dispatchers, which both start at once."""

    def __init__(self) -> None:
        self.sent: list[str] = []
        self._lock = Lock()

    def send(self, push: Push) -> None:
        with self._lock:
            self.sent.append(str(push.send))


def test_two_dispatchers_at_once_send_each_reminder_once(engine: Engine, db: Session) -> None:
    course = hourly(db, therapist(db))
    for _ in range(12):
        phone(db, course)
    plan_prompts(db, course.patient_id, at(13, 10))
    db.commit()
    counting, start = Counting(), Barrier(2)

    def work() -> None:
        with Session(engine) as own:
            start.wait()
            dispatch_due(own, counting, still(at(14, 1)))

    threads = [Thread(target=work) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    due = db.scalars(select(PromptSend.id).where(PromptSend.state == "sent")).all()
    assert sorted(counting.sent) == sorted(map(str, due))
    assert len(counting.sent) == 12
