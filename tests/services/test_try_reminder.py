"""A test reminder: sent as any other, answered for, and never counted as one."""

import uuid

import pytest
from sqlalchemy.orm import Session

from homeprog.delivery.errors import DeliveryError
from homeprog.delivery.recorder import Recorder
from homeprog.domain.errors import Conflict, NotFound
from homeprog.services.actor import Actor
from homeprog.services.dispatch_prompts import dispatch_due
from homeprog.services.mark_receipt import mark_receipt
from homeprog.services.plan_prompts import plan_prompts
from homeprog.services.try_reminder import Trial, look_at_test, try_reminder
from homeprog.storage.models import Course, Device
from homeprog.storage.prompts import unanswered
from homeprog.storage.reminders import reminder_states
from tests.services.prompt_cast import at, hourly, phone, quiet, sends_at, therapist


@pytest.fixture
def course(db: Session) -> Course:
    return hourly(db, therapist(db))


@pytest.fixture
def device(db: Session, course: Course) -> Device:
    return phone(db, course)


def acting(device: Device) -> Actor:
    return Actor(device.clinic_id, "device", device.id)


def asked(db: Session, device: Device, minute: int = 10, second: int = 0) -> Trial:
    return try_reminder(db, acting(device), at(13, minute).replace(second=second))


def dispatched(db: Session, minute: int, *fails: DeliveryError) -> Recorder:
    db.commit()
    recorder = Recorder(*fails)
    dispatch_due(db, recorder, lambda: at(13, minute))
    return recorder


def test_it_is_sent_at_the_next_pass_and_says_that_it_is_a_test(
    db: Session, device: Device
) -> None:
    assert asked(db, device).state == "waiting"
    assert [b"This is a test." in push.payload for push in dispatched(db, 10).sent] == [True]


def test_it_comes_also_in_a_quiet_time_because_somebody_asked_for_it_now(
    db: Session, course: Course, device: Device
) -> None:
    quiet(db, course, at(13), ends=at(14, 30))
    asked(db, device)
    assert len(dispatched(db, 10).sent) == 1


def test_it_has_arrived_when_its_receipt_has(db: Session, device: Device) -> None:
    send = asked(db, device).send.id
    dispatched(db, 10)
    assert look_at_test(db, acting(device), send).state == "sent"
    mark_receipt(db, acting(device), send, "shown", at(13, 11), at(13, 11))
    assert look_at_test(db, acting(device), send).state == "arrived"
    assert device.receipt_proven


def test_a_push_service_that_refuses_it_is_told(db: Session, device: Device) -> None:
    send = asked(db, device).send.id
    dispatched(db, 10, DeliveryError("410 Gone", permanent=True, gone=True))
    assert look_at_test(db, acting(device), send).state == "not_sent"


def test_a_second_tap_asks_after_the_same_one(db: Session, device: Device) -> None:
    first = asked(db, device)
    assert asked(db, device, second=30).send.id == first.send.id
    assert len(dispatched(db, 11).sent) == 1


def test_after_one_that_arrived_another_is_sent(db: Session, device: Device) -> None:
    first = asked(db, device).send.id
    dispatched(db, 10)
    mark_receipt(db, acting(device), first, "shown", at(13, 10), at(13, 10))
    assert asked(db, device, second=40).send.id != first


def test_after_a_minute_another_is_sent(db: Session, device: Device) -> None:
    first = asked(db, device).send.id
    assert asked(db, device, minute=12).send.id != first


def test_without_reminders_there_is_nothing_to_test(db: Session, course: Course) -> None:
    with pytest.raises(Conflict) as refused:
        asked(db, phone(db, course, endpoint=""))
    assert refused.value.code == "no_subscription"


def test_it_stands_in_no_figure_of_reminders(db: Session, course: Course, device: Device) -> None:
    plan_prompts(db, course.patient_id, at(13, 5))
    asked(db, device)
    dispatched(db, 10)
    assert unanswered(db, course.patient_id, at(14)) == 0
    states = reminder_states(db, course.id, at(13), at(15), at(14, 30))
    assert {start.hour for _, start in states} == {14}


def test_only_the_phones_own_test_can_be_looked_at(
    db: Session, course: Course, device: Device
) -> None:
    send = asked(db, device).send.id
    other = phone(db, course, endpoint="", whose="carer")
    plan_prompts(db, course.patient_id, at(13, 5))
    for by, which in (
        (other, send), (device, uuid.uuid4()), (device, sends_at(db, at(14))[0].id),
    ):  # fmt: skip
        with pytest.raises(NotFound):
            look_at_test(db, acting(by), which)
